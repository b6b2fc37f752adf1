"""Drag areas: of published bodies, of measured flies, and as a bead with a dressing."""
