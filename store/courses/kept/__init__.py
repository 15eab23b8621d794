"""Courses in the book: kept, started, turned and ended; the dose log; what is due this morning."""
