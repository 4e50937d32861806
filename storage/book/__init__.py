"""The book: engines, tables, the door, the journal, queries, migrations, opening."""
