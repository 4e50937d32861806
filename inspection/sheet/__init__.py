"""A sheet as values, what may be done to it, and what follows."""
