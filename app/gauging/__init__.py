"""Gauge studies as they are worked in: the list, the start, the blind entry, the result."""
