"""Settings, addresses and the running server: wires, computes nothing."""
