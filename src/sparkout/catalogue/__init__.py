"""What can be calculated: one entry serves the command line, the web and the API. No numpy at import."""
