"""Frame, rail, theme, keys and dialogs."""
