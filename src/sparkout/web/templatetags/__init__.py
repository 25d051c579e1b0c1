"""Template tags of the web bench."""
