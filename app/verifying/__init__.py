"""Verifying a whole book in the window."""
