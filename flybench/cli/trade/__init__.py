"""The commands of trade: what comes, what is sold, what is counted."""
