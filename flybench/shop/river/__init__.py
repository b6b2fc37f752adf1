"""What an angler types about water, tackle and flies, and what came of it."""
