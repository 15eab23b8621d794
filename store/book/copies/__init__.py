"""The log as a chain of hashes, and copies of one book that come together."""
