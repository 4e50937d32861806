"""Exact quantities: one reader and one speaker for every number in the program."""
