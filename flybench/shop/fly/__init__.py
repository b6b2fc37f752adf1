"""What a fly of the catalog is: its bead, its solid parts, what it is tied from, and its weight in water."""
