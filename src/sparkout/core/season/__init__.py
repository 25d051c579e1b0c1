"""The season: wear of a fleet, life of an edge, when to sharpen, the plan, parts and cost."""
