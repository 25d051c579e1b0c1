"""Conforms, does not conform, or undecided with this gauge; and the next reading worth taking."""
