"""A number in a page's markup has a point, whatever the language; people are told numbers through `showing`."""

DECIMAL_SEPARATOR = "."
