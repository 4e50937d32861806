"""Shows: the window and the command line, which send the same acts."""
