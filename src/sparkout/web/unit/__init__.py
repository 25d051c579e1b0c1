"""One cutting unit over the years, and its label."""
