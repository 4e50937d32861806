"""New identities, derived from the entry that makes them, so that the same act in the same entry makes the same."""

from __future__ import annotations

import uuid

from inspection.sheet.events import Entry


def derived(entry: Entry, name: str) -> str:
    """The identity (UUID version 5, RFC 9562 section 5.5) of the thing that ``entry`` makes under this name."""
    return str(uuid.uuid5(uuid.UUID(entry.identity), name))
