"""Pooled speeds: what all runs of a shop have in common, and speeds kept in step with the runs."""
