"""Stills: which they are, what they say of themselves, and their pixels."""
