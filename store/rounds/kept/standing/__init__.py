"""How sites stand, and at which hour of the day they are best visited."""
