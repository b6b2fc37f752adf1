"""Deliveries, sales, counts, prices and reports in words."""
