"""Calls as they were taken."""
