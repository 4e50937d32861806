"""Carries out what the core decided and keeps it: the book, seals, files in and files out."""
