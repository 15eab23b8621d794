"""Medicated feed: how much fish, how much feed, how much agent, and how it is mixed."""
