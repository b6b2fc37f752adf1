"""Recipe files: read, checked, compared with the catalog, put into it and written out again."""
