"""The judging: sheet, shop and history in, findings out; one module a station."""
