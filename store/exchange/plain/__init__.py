"""Plain files in shapes of our own, looked at first and saved afterwards."""
