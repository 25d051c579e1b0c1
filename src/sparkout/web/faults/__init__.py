"""Why does it look like that: what is seen on the turf, causes, the next check."""
