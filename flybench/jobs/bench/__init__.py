"""What a user asks at the tank: the card, a plan, a sheet, and a clip measured."""
