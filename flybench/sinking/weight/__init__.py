"""Solid parts of a fly and its submerged weight."""
