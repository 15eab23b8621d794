"""How far and how long: reckoned, or from the practice's own table."""
