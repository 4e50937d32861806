"""The steps from schema to schema, run by Alembic."""
