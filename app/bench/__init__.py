"""The Bench: view, model and actions of measuring."""
