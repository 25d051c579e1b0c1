"""The calculations: mm, N, s, rad, K; no files but core/data, no clock, no printing, no web, no database."""
