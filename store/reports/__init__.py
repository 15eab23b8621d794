"""Papers that leave the practice, or hang on its wall: visit report, history, morning list."""
