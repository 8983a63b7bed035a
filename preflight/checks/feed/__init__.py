"""Station 9: where each board goes."""
