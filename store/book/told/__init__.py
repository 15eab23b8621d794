"""What was done to the book, as its log tells it."""
