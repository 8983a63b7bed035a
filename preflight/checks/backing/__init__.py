"""Station 4: backing, joint and grit against the head."""
