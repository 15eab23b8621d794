"""Sheets of what was found on fish, and books of dead fish."""
