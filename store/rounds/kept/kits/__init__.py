"""What goes into the van, out of courses, plans and visits."""
