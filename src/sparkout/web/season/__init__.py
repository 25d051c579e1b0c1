"""The season: what is due when, the plan on the wall, load, cost, the season sheet and what-ifs."""
