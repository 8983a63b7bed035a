"""Station 2: squeeze-out."""
