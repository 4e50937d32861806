"""People entered and issued anew: by whom, and what anybody may change of themselves."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.sheet import acts
from inspection.sheet.people import Duty, Person


@pytest.fixture
def shop(life_kind: Any) -> Any:
    """A shop with an inspector beside the person who opened it."""
    life = life_kind().open()
    life.bo = life.enter("Bo Birch", Duty.INSPECTOR)
    return life


def entering(life: Any, person: str, **change: Any) -> acts.EnterPerson:
    return acts.EnterPerson(person=replace(life.shop.people[person], **change))


def test_anybody_may_lock_their_own_key_anew(shop: Any) -> None:
    shop.do(entering(shop, shop.bo, locked_key="locked anew"), person=shop.bo)
    now = shop.shop.people[shop.bo]
    assert (now.locked_key, now.name, now.certificate) == ("locked anew", "Bo Birch", "certificate of Bo Birch")


@pytest.mark.parametrize(
    "change",
    [
        {"certificate": "a new one"},
        {"duties": (Duty.INSPECTOR, Duty.LEAD)},
        {"name": "Bo Beech"},
        {"certificate": "a new one", "locked_key": "and its key"},
    ],
)
def test_nothing_else_of_oneself_is_changed_without_the_duty(shop: Any, change: dict[str, Any]) -> None:
    assert shop.codes(entering(shop, shop.bo, **change), person=shop.bo) == ["life.duty"]
    shop.do(entering(shop, shop.bo, **change))
    assert shop.shop.people[shop.bo] == replace(
        Person(shop.bo, "Bo Birch", certificate="certificate of Bo Birch"), **change
    )


def test_nobody_locks_the_key_of_another_without_the_duty(shop: Any) -> None:
    cy = shop.enter("Cy", Duty.OFFICE)
    assert shop.codes(entering(shop, shop.bo, locked_key="locked by Cy"), person=cy) == ["life.duty"]


def test_somebody_is_left_who_may_enter_people(shop: Any) -> None:
    """Ann opened the shop; until somebody else keeps the book, or leads, she does."""
    only = entering(shop, shop.person, duties=(Duty.INSPECTOR,))
    assert shop.codes(only) == ["person.last_keeper"]
    shop.do(entering(shop, shop.bo, duties=(Duty.LEAD,)))
    shop.do(only)
    assert shop.codes(only) == ["life.duty"], "and from then on she may not"


def test_a_name_is_known_in_whatever_case(shop: Any) -> None:
    assert shop.codes(acts.EnterPerson(person=Person("", "bo BIRCH"))) == ["person.known"]
    shop.do(entering(shop, shop.bo, name="bo BIRCH"))
    assert shop.shop.people[shop.bo].name == "bo BIRCH", "one's own is no other"
