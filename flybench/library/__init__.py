"""The library door: what the commands do, as functions and objects for notebooks and programs."""
