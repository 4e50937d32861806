"""What may be done to the shop, a plan or a sheet, and what follows: ``decide``."""
