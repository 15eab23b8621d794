"""The best order with proof: plain numbers in, plain numbers out."""
