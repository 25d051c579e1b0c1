"""Photographs and recordings as files: originals under their own digest, copies to show."""
