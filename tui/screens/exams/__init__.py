"""Examinations and samples."""
