"""What a user asks of the catalog: things added and changed, recipes, spreadsheets, runs, stock, make-lists, safety."""
