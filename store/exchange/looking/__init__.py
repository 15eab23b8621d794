"""Files that give a plan, each kind in the same way: looked at, told line by line, saved."""
