"""What is not known, drawn many times; what comes of it; and the flies that do best over all draws."""
