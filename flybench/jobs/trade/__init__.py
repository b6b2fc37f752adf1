"""Trade: deliveries, sales, stock-takes, tying from stock, prices, and what was sold and used over a time."""
