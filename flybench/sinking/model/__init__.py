"""The drag model fitted to a shop, and what it says of flies not tied yet and of other water."""
