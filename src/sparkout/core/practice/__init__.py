"""Virtual units with known faults, and gauges that err like real ones."""
