"""The commands that take a catalog to another place."""
