"""A water test: its line, its form, what was understood, the test opened again."""
