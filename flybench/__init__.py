"""Sink speeds of tied flies, measured from phone clips of them falling through a tank."""

__version__ = "0.1.0"
