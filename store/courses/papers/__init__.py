"""Sheets to hand over: for the owner, for the mixing of feed; text, Markdown and PDF."""
