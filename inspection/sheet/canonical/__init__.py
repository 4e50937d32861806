"""Readers of every released canonical form; only the newest writes."""
