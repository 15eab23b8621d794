"""The diary in the book: the only room of it that knows the records."""
