"""Puts this folder on the path of the tests, so that they find `builders`."""
