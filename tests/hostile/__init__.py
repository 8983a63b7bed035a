"""Malformed files and odd things in a shop folder, for tests and for the grid that measures every command on them."""
