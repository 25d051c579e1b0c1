"""The board: every unit, its state and what is next."""
