"""The desk: what is due, who is rung, what was promised."""
