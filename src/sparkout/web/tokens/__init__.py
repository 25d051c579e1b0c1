"""Tokens for programs."""
