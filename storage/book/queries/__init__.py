"""What a book is asked: one file a question, each reading a bounded number of rows by an index."""
