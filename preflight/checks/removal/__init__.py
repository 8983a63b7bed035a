"""Station 8: the cut shared over the heads."""
