"""Readings, slips, uncertainty, results and verdicts."""
