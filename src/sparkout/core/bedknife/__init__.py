"""The bedknife: section, edge, stock, life."""
