"""The record of changes: who changed what, when, from what to what, and why."""
