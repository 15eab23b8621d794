"""The sheet of a day, and a round as a file."""
