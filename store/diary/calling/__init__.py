"""A new call: what is asked, how urgent it is, what may be advised. Arithmetic only."""
