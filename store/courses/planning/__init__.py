"""A course as a plan: its plain values, the days of its doses, its tasks, its peaks."""
