"""The command line: a door. It parses, asks one operation, and shows the answer."""
