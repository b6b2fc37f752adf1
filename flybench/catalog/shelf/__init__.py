"""What is on the shelf: rows added, changed and removed, stock, bench runs, and a check of it all."""
