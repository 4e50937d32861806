"""The panel on which an instrument is checked before use."""
