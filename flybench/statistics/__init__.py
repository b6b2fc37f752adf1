"""Uncertainty, pooling and comparing: plain numbers in and out; used by all, knows none of them."""
