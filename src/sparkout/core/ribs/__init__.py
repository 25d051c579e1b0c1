"""Ribs in the turf: how deep, how far apart, and from what."""
