"""Treatment courses, in rooms from what is weighed up to what the book keeps."""
