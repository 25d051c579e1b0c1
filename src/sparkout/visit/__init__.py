"""The visit on file: one cutting unit's pass through the workshop, as plain text."""
