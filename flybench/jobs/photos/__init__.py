"""Photos of patterns, variants and flies: made safe and small, kept in the catalog, shown and taken away."""
