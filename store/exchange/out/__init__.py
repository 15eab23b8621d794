"""What leaves a book: tables as CSV, a pond's water as a sheet, the whole book, JSON."""
