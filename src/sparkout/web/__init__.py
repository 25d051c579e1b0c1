"""The web bench: server-rendered pages. Nothing is computed here; every figure comes told from the rooms below."""
