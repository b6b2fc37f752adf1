"""Scenes at a real kitchen table: what goes wrong with clock, picture, scale and handling, with known truth."""
