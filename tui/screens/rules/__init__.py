"""Alert rules: changed, tried on the past, and what was found over all ponds."""
