"""Treatment courses: planned, looked at, logged, and whether they worked."""
