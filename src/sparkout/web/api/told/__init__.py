"""Records as the API tells them: each thing one schema, each quantity as typed and as a number with its unit."""
