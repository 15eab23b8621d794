"""Guarding the book: whether all of it is as it was written."""
