"""The sheets room: make a sheet from a feature file, list sheets, open one, sign it, send it out."""
