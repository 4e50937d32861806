"""Studies over many readings: what they show of a hand, an instrument, a characteristic. Values and pure functions."""
