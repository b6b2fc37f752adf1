"""Renders clips of a fly sinking through a tank, with every true value known.

Written apart from the measuring code: its own fall, its own optics; only the printed card is shared.
"""
