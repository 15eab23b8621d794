"""Backups: whole copies of a book that were looked through, and a book made out of one again."""
