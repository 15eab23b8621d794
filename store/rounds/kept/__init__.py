"""Rounds out of the book: the only room of them that knows the records."""
