"""The visit page: one cutting unit from taking in to signing."""
