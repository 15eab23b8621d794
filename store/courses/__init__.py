"""Treatment courses: what a dose, a plan and a feed come to. Pure arithmetic; no records."""
