"""Sparkout: the reckoning for reel and bedknife."""

__version__ = "0.1.0"
