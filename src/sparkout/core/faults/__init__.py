"""Fault finding: from what is seen to ranked causes, and the next check worth doing."""
