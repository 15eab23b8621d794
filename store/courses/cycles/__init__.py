"""Life cycles of parasites at a temperature, and which doses meet them."""
