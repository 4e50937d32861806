"""Data only: standards as tables, the starter crib, the demo job, words, style and symbols."""
