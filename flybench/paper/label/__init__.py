"""Labels: what stands on one, where it stands, in which type, and the sheets they are printed on."""
