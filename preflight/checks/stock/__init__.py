"""Station 1: the pieces themselves."""
