"""The formulary, and what of it is the practice's own."""
