"""When somebody can go: distances, slots with reasons, what speaks against one. Arithmetic only."""
