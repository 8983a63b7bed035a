"""What all saved records say together: index, lists, patterns, trends and reports. Reads records, changes none."""
