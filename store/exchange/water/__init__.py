"""Owners' sheets of water tests."""
