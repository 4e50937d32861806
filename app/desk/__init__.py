"""The Desk: what goes out is seen page by page and cell by cell before it goes, with what is missing beside it."""
