"""The report page of a bench run, to hang in the shop: one module for each part of it."""
