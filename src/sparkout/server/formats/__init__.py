"""How Django writes what is not told through `showing`: ids, sizes, coordinates. The same in every language."""
