"""Days and hours: repeats, weekly hours, public holidays. Arithmetic only."""
