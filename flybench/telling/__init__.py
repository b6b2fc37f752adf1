"""Results for people and programs: for each result its words, its table and its machine form."""
