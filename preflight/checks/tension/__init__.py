"""Station 6: the pull in each belt."""
