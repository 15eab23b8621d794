"""A course as it goes: what is due, and how the rest is planned anew when a dose slips."""
