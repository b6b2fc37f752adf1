"""What a shop knows: rows of the catalog as physics records, pooled, ordered and compared. No database in here."""
