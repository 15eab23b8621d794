"""A book at a database server: its line, its roles, what became of a lost answer."""
