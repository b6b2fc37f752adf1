"""The catalog: materials, patterns, tied flies, bench runs, stock, and how they are searched and kept."""
