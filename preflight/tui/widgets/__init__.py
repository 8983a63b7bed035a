"""Painted widgets: a pure function makes the cells, a thin adapter paints them."""
