"""Instrument records, reach, ratios, the choice with its reasons, and the route."""
