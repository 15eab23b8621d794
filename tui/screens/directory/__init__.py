"""Clients, sites and ponds."""
