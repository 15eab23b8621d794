"""Backups, and whether the book is as it was written."""
