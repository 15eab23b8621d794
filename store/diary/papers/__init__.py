"""Texts for owners. Plain values only."""
