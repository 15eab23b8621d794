"""When somebody can go: drives, slots with reasons, what speaks against one. Arithmetic only."""
