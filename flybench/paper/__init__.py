"""What is printed: the scale card and the report page."""
