"""Looking back: the rows of a part in time, and reverse trace."""
