"""Top-level areas of the app, loaded when first opened."""
