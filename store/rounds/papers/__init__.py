"""The day on paper and for other programs."""
