"""Station 11: the board that proves the set-up."""
