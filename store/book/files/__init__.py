"""A book in a file: where it lies, and what the system says of it."""
