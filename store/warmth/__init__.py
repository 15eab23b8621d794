"""The temperature of ponds that nobody has read today: season, departure, neighbours."""
