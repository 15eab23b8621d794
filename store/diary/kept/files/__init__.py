"""Calendar files and texts for owners, out of the book and into it."""
