"""What owners tell in messages and diaries: looked through for values, taken only by hand."""
