"""The drawing room: numbers in, SVG out; same input, same bytes."""
