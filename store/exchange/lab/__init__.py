"""Results of a laboratory, out of the sheets in which they come."""
