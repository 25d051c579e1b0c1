"""First start: look round the demonstration workshop, or set up your own."""
