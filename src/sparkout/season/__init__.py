"""The season: from what a workshop has on file to what is due when, the plan, and what it costs."""
