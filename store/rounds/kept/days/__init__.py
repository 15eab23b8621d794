"""Days and weeks out of the book, and plans entered into it."""
