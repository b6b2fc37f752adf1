"""The commands around the tank."""
