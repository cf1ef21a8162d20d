"""Answer keys: many racks answered, kept as they come, and made into files."""
