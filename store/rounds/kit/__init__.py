"""What goes into the van for a day: amounts, packs, reagents, gear."""
