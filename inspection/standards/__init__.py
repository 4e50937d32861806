"""The one reader of resources/tables: published standards as frozen tables."""
