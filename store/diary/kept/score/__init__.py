"""How many promises were kept on time."""
