"""The kept plan as a calendar, at an address that only who was given it knows."""
