"""What was promised, from every table of the book in which a promise stands or follows."""
