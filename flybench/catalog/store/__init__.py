"""The catalog file or server: opened, kept safe, backed up, and brought to the newest tables."""
