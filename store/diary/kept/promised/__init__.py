"""What was promised by hand, and who was rung."""
