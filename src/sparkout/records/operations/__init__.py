"""One function per thing a user can do, below every door: one transaction, one history line each."""
