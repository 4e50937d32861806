"""Files out: pdf, workbook, csv, data file."""
