"""Medicine books: what was given at ponds, with batch and withdrawal as written."""
