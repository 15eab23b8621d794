"""The records of a practice, and opening them."""
