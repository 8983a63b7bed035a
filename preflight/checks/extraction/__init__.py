"""Station 7: air at this machine for the gates open now."""
