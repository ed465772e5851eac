"""JSON with exactly one way to write each value: RFC 8785, JSON Canonicalization Scheme."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from json.encoder import encode_basestring

Json = None | bool | int | float | str | Sequence["Json"] | Mapping[str, "Json"]

_LARGEST_SAFE = 2**53 - 1
_ROWS = (list, tuple)


def canonical(value: Json) -> bytes:
    """The canonical form, UTF-8.

    Raises ValueError for what RFC 8785 refuses: NaN, infinity, a lone surrogate, and a whole
    number that a double does not hold exactly.
    """
    return _text(value).encode()


def sha256_of(value: Json) -> str:
    """SHA-256 of the canonical form in lower-case hex."""
    return hashlib.sha256(canonical(value)).hexdigest()


def _text(value: Json) -> str:
    if isinstance(value, str):
        return encode_basestring(value)
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return _whole(value)
    if isinstance(value, float):
        return _number(value)
    if type(value) in _ROWS or not isinstance(value, Mapping):
        return "[" + ",".join(map(_text, value)) + "]"
    return "{" + ",".join(_members(value)) + "}"


def _members(value: Mapping[str, Json]) -> list[str]:
    """Members in order of their names as UTF-16 code units (RFC 8785, 3.2.3)."""
    names = sorted(value)
    if not all(map(str.isascii, names)):
        names.sort(key=lambda name: name.encode("utf-16-be"))
    return [f"{encode_basestring(name)}:{_text(value[name])}" for name in names]


def _whole(number: int) -> str:
    if abs(number) > _LARGEST_SAFE:
        raise ValueError(f"{number} does not fit a double exactly")
    return str(number)


def _number(number: float) -> str:
    """As ECMAScript writes a Number: shortest digits, exponent from 1e21 and below 1e-6."""
    if not math.isfinite(number):
        raise ValueError(f"JSON has no {number}")
    if number == 0:
        return "0"
    sign = "-" if number < 0 else ""
    shortest = Decimal(repr(abs(number))).normalize().as_tuple()
    digits = "".join(map(str, shortest.digits))
    point = len(digits) + int(shortest.exponent)
    return sign + _placed(digits, point)


def _placed(digits: str, point: int) -> str:
    """Digits with the decimal point after `point` of them."""
    if len(digits) <= point <= 21:
        return digits.ljust(point, "0")
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return f"0.{'0' * -point}{digits}"
    fraction = f".{digits[1:]}" if len(digits) > 1 else ""
    return f"{digits[0]}{fraction}e{point - 1:+d}"
