"""Which edition of the program computed a sheet; written into every seal."""

PROGRAM = "Tenthwright 0.1.0"
