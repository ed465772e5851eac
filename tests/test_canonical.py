"""RFC 8785: one way to write each value. The RFC's own examples are from memory."""

from __future__ import annotations

import json
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.output.canonical import Json, canonical, sha256_of

# RFC 8785, appendix B, from memory: bits of a double and how it is written.
NUMBERS = """
0000000000000000 0
8000000000000000 0
0000000000000001 5e-324
8000000000000001 -5e-324
7fefffffffffffff 1.7976931348623157e+308
ffefffffffffffff -1.7976931348623157e+308
4340000000000000 9007199254740992
c340000000000000 -9007199254740992
4430000000000000 295147905179352830000
44b52d02c7e14af5 9.999999999999997e+22
44b52d02c7e14af6 1e+23
44b52d02c7e14af7 1.0000000000000001e+23
444b1ae4d6e2ef4e 999999999999999700000
444b1ae4d6e2ef4f 999999999999999900000
444b1ae4d6e2ef50 1e+21
3eb0c6f7a0b5ed8c 9.999999999999997e-7
3eb0c6f7a0b5ed8d 0.000001
41b3de4355555553 333333333.3333332
41b3de4355555554 333333333.33333325
41b3de4355555555 333333333.3333333
41b3de4355555556 333333333.3333334
41b3de4355555557 333333333.33333343
becbf647612f3696 -0.0000033333333333333333
43143ff3c1cb0959 1424953923781206.2
"""


@pytest.mark.parametrize("line", NUMBERS.split("\n")[1:-1])
def test_numbers_of_appendix_b(line: str) -> None:
    bits, written = line.split()
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical(number).decode() == written


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf"), 2**53, -(2**53)])
def test_numbers_that_are_refused(number: float) -> None:
    with pytest.raises(ValueError):
        canonical({"number": number})


def test_the_example_of_section_3_2_2() -> None:
    """From memory, as the RFC prints it."""
    given_text = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    assert canonical(json.loads(given_text)).decode() == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


def test_the_sorting_example_of_section_3_2_3() -> None:
    """From memory. The emoji sorts by its surrogates, before the Hebrew letter."""
    names: Json = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical(names)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


def test_strings() -> None:
    """Only what JSON must escape is escaped; slashes, DEL and letters stand as they are."""
    assert canonical("\b\t\n\f\r\x00\x1f\x7f/<\u2028é") == (
        '"\\b\\t\\n\\f\\r\\u0000\\u001f\x7f/<\u2028é"'.encode()
    )
    with pytest.raises(ValueError):
        canonical("\ud800")
    with pytest.raises(ValueError):
        canonical({"\udead": 1})


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec="utf-8")),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(st.characters(codec="utf-8")), inner),
    max_leaves=20,
)


def as_doubles(value: Json) -> Json:
    """Whole numbers and doubles of the same value are one number in JSON."""
    found: Json = json.loads(json.dumps(value), parse_int=float)
    return found


@given(JSON_VALUES)
def test_a_value_survives_and_is_written_one_way_only(value: Json) -> None:
    text = canonical(value)
    again = json.loads(text, parse_int=float)
    assert again == as_doubles(value)
    assert canonical(again) == text


@given(st.dictionaries(st.text(st.characters(codec="utf-8")), st.integers(0, 9), min_size=2))
def test_the_order_of_members_does_not_matter(members: dict[str, int]) -> None:
    assert sha256_of(members) == sha256_of(dict(reversed(members.items())))
