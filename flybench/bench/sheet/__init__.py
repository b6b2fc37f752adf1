"""What the user typed about tank, camera, scale and fly: the keys, the reader, the settings."""
