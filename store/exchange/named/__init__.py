"""What all sheets of named columns share where the book comes in: whose, remembered, saved."""
