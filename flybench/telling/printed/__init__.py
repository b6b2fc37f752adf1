"""What is printed, in words: labels for bins and drawers, and the page for the pocket."""
