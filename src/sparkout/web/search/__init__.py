"""Search over everything on file."""
