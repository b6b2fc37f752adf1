"""What a user asks of the log of changes: who changed what and when, and to have a change undone."""
