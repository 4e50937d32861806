"""A customer's own form: where each value of a sheet goes, in what words and units."""
