"""A whole book out of the folder that it was written to."""
