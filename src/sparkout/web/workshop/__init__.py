"""The workshop itself: people, gauges, limits, machines and units."""
