"""Lists, sheets and files in and out."""
