"""The reel: geometry, state from readings, land and relief."""
