"""Acts strung together: the demo job, taking in, sending, verifying; no Qt."""
