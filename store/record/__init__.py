"""The record of changes in words: what was done to what, by whom and why, before and after."""
