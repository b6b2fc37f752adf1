"""The commands of the catalog."""
