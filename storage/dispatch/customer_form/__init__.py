"""The customer's own workbook, filled in its own markup: what is not filled stays byte for byte."""
