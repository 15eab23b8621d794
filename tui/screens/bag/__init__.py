"""The offline bag by keys: packed, brought back, and what differs then."""
