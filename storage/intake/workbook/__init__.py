"""Workbooks in: what a cell shows as text, or why it may not be taken; nothing is rounded, computed or guessed."""
