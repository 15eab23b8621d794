"""The offline bag: what a round needs as a book of its own, and bringing the day back."""
