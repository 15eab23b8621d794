"""A week ahead: what is due, spread over people and days."""
