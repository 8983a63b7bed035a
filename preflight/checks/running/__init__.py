"""Station 10: stop test, limit bar, tracking, current, and what is proven weekly."""
