"""What is due, how heavy it weighs, how it is said. Arithmetic only."""
