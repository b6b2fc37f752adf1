"""How the flies of a shop sink: runs pooled, set-ups, sides of a comparison, the ladder, what is learned."""
