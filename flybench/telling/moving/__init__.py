"""Copies of a catalog in words."""
