"""The command line; no Qt."""
