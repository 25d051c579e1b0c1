"""Sums with a live picture: how a unit stands, its machine's units matched, clip and ribs."""
