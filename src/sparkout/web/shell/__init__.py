"""What every page stands in: who reads it, in which words and units."""
