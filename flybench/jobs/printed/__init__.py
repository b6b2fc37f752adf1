"""What a user asks to have printed: labels and the pocket sheet."""
