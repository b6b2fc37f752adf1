"""Finding things: the fields of every noun, the query language, and rows as a person reads them."""
