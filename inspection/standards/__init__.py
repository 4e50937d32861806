"""The one reader of the standards' tables, and what is computed from them."""
