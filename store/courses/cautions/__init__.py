"""What must be said before a course and before each dose."""
