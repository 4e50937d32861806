"""Keys, signing and checking."""
