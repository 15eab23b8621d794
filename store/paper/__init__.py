"""Sheets of paper: what stands on them, as text, Markdown and PDF."""
