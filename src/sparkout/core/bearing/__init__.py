"""Bearings of the reel: play, drag, life, and what a recording shows of them."""
