"""What is weighed or poured for a dose in water, and what is left of it."""
