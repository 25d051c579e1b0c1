"""How a cutting unit stands on its rollers: height of cut, attitude, behind-centre distance, level; and matching."""
