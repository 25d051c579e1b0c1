"""Sound and vibration recordings: bytes of a file in, samples out."""
