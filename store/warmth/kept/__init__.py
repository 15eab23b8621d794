"""Estimates of the temperature of ponds out of the records of a book."""
