"""A list of clients and ponds, as another program or a person kept it, read for the book."""
