"""The physics: pure functions on SI floats, no I/O, no clock."""
