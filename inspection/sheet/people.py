"""The people of a shop and what they may sign with."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct


class Duty(StrEnum):
    """What a person may do; the table in ``life`` says which acts each may."""

    INSPECTOR = "inspector"
    LEAD = "lead"
    OFFICE = "office"
    KEEPER = "keeper of the book"


class Person(Struct, frozen=True):
    """A person with a signing key: ``certificate`` is PEM; ``locked_key`` the PKCS#12 container in base64, under
    the person's own passphrase."""

    identity: str
    name: str
    duties: tuple[Duty, ...] = (Duty.INSPECTOR,)
    certificate: str = ""
    locked_key: str = ""
