"""What a user asks at the river: one drift, the flies to choose, and what to change next."""
