"""From a visit to the whole answer: the one operation below every door."""
