"""The version of the program, written into what it makes."""

__version__ = "0.1.0"
