"""Station 3: the belt on each head."""
