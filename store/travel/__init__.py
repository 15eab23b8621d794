"""How far and how long: places, ways reckoned, and the practice's own table of drives."""
