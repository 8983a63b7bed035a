"""Screens that ask one thing and return the answer; each is imported when it is first needed."""
