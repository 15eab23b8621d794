"""Papers made from the book; the only part of the reports that reads it."""
