"""Fish that are eaten: how long after a course they may not be."""
