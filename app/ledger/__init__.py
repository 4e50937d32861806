"""The Ledger: every sheet of the book, found, read, signed and gone on with."""
