"""The morning list and what is asked of a line of it."""
