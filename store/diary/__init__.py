"""Visits and follow-ups: what was promised, who is rung, who goes when."""
