"""Calendar files as RFC 5545 has them, out and in. Plain values only."""
