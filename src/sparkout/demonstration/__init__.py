"""The demonstration workshop: invented units, made by a seeded script and kept as visit files."""
