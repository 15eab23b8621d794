"""Loggers' files, however they are written, as clean series."""
