"""What the workshop remembers: models, operations (one function per thing a user can do), queries."""
