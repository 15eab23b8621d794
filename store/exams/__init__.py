"""Examinations: how many fish to look at, what was found, whether it helped, and deaths."""
