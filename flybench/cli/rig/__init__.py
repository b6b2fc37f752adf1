"""The commands of the rig."""
