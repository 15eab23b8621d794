"""One day: what it asks, its plan, and what a delay does to it."""
