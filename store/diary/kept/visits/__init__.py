"""Visits in the diary: slots, bookings, what stands against an hour."""
