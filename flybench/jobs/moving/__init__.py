"""Moving house: a catalog copied to another place, or written out as open files and read back."""
