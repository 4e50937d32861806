"""Decides: values, limits, verdicts, and what may be done to a sheet. Pure: no Qt, SQL, clock or randomness."""
