"""The lead's review of one sheet: its list answered, rows read again, returned, nonconformances, three statements."""
