"""Station 5: looks, locked off, and what is due."""
