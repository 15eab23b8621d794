"""Everything that is due, gathered from where it stands."""
