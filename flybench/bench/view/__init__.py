"""What the camera sees: card, geometry of tank and camera, background, and whether the phone stood still."""
