"""Height of cut, clip, stubble, drive."""
