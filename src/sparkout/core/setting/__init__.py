"""Knife to reel: pivot, clearance, clicks, heat, paper proof."""
