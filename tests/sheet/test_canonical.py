"""Canonical bytes: RFC 8785, with no floats, no integer beyond 2**53 and ASCII keys."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import msgspec
import msgspec.inspect as mi
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest, dumps

#: Every JSON value that may be signed.
SIGNABLE = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(max_codepoint=127), max_size=5), inner, max_size=4)
    ),
    max_leaves=12,
)


def test_the_sample_of_the_rfc() -> None:
    """RFC 8785, section 3.2.2 and 3.2.4: the sample object without its numbers, of which none is an integer (from
    memory of the RFC, not from its text)."""
    sample = json.loads(
        r'{"string": "\u20ac$\u000F\u000aA\'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}'.replace(
            "\\'", "'"
        )
    )
    assert dumps(sample) == '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'.encode()


def test_keys_in_the_order_of_the_rfc() -> None:
    """Section 3.2.3: a carriage return before "1" (from memory). Its other keys are not ASCII and are refused, so that
    order by code point and order by UTF-16 unit cannot differ."""
    assert dumps({"1": "One", "\r": "Carriage Return"}) == b'{"\\r":"Carriage Return","1":"One"}'
    for key in ("\u20ac", "\ufb33", "\U0001f600", "\u0080", "\u00f6"):
        with pytest.raises(ValueError, match="ASCII"):
            dumps({"a": {key: 1}})


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (0, b"0"),
        (-1, b"-1"),
        (2**53, b"9007199254740992"),
        (-(2**53), b"-9007199254740992"),
        ("\b\t\n\f\r\x00\x1f\x7f", b'"\\b\\t\\n\\f\\r\\u0000\\u001f\x7f"'),
        ("</script>", b'"</script>"'),
        ("\u2028\u00e9\U0001f600", '"\u2028\u00e9\U0001f600"'.encode()),
        ({2: "a", 10: "b"}, b'{"10":"b","2":"a"}'),
        ((), b"[]"),
        ({}, b"{}"),
    ],
)
def test_values_as_the_rfc_writes_them(value: object, written: bytes) -> None:
    """Sections 3.2.2.2 (strings: \\b \\t \\n \\f \\r, other controls as lower-case \\u00xx, all else as it is) and
    3.2.2.3 (integers as digits), from memory."""
    assert dumps(value) == written


@given(SIGNABLE)
def test_the_bytes_are_those_of_another_writer(value: Any) -> None:
    """Python's own json, which for ASCII keys and integers writes what the RFC asks, and its own reader."""
    written = dumps(value)
    assert written == json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    assert json.loads(written) == value


@pytest.mark.parametrize("value", [1.0, 0.1, float("nan"), 2**53 + 1, -(2**53) - 1, 2**64])
@pytest.mark.parametrize("wrap", [lambda v: v, lambda v: [v], lambda v: {"a": ({"b": v},)}])
def test_what_may_not_be_signed(value: object, wrap: Any) -> None:
    with pytest.raises(ValueError, match="cannot be signed"):
        dumps(wrap(value))


def test_half_a_character_cannot_be_signed() -> None:
    """RFC 8785, section 3.2.2.2: a lone surrogate ends in an error (from memory)."""
    with pytest.raises(ValueError, match="surrogates"):
        dumps("\ud800")


def test_the_digest_is_sha_256() -> None:
    """FIPS 180-4's sample of "abc" (from memory)."""
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


# --- every type that is written -------------------------------------------------------------------------------------


def walk(kind: mi.Type, seen: set[Any]) -> Iterator[mi.Type]:
    """A type and every type that a value of it can hold."""
    yield kind
    if isinstance(kind, mi.StructType):
        if kind.cls in seen:
            return
        seen.add(kind.cls)
        for field in kind.fields:
            yield from walk(field.type, seen)
    elif isinstance(kind, mi.UnionType):
        for one in kind.types:
            yield from walk(one, seen)
    elif isinstance(kind, mi.VarTupleType | mi.ListType):
        yield from walk(kind.item_type, seen)
    elif isinstance(kind, mi.TupleType):
        for one in kind.item_types:
            yield from walk(one, seen)
    elif isinstance(kind, mi.DictType):
        yield from walk(kind.key_type, seen)
        yield from walk(kind.value_type, seen)


def written_types() -> list[mi.Type]:
    seen: set[Any] = set()
    return [one for root in (form_4.Record, form_4.Content) for one in walk(mi.type_info(root), seen)]


def test_nothing_that_is_written_holds_a_float_or_anything_unknown() -> None:
    plain = (mi.StrType, mi.IntType, mi.BoolType, mi.NoneType, mi.EnumType)
    nested = (mi.StructType, mi.UnionType, mi.VarTupleType, mi.TupleType, mi.DictType)
    types = written_types()
    assert len(types) > 200
    assert [one for one in types if not isinstance(one, plain + nested)] == []
    keys = [one.key_type for one in types if isinstance(one, mi.DictType)]
    assert all(isinstance(key, mi.StrType | mi.IntType) for key in keys)


class Inner(msgspec.Struct):
    by: dict[str, tuple[float, ...]]


class Outer(msgspec.Struct):
    inner: Inner | None


def test_the_walk_sees_a_float() -> None:
    assert any(isinstance(one, mi.FloatType) for one in walk(mi.type_info(Outer), set()))


def test_every_name_that_is_written_is_ascii() -> None:
    structs = [one for one in written_types() if isinstance(one, mi.StructType)]
    names = {field.encode_name for one in structs for field in one.fields}
    tags = {one.tag for one in structs if one.tag is not None}
    assert all(name.isascii() for name in names | tags)
    assert {"ReadingTaken", "SheetSealed", "amount", "figure"} <= tags
