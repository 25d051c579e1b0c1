"""Care of the person: what a day comes to, and who may do which work."""
