"""The solid parts of a fly and its submerged weight: pure SI, no input or output."""
