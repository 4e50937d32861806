"""Questions to the book, a file each: bounded, indexed, from the rows alone."""
