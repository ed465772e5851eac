"""Reading a transfer file: what is no such file, damaged, or says what it must not is a finding."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.messages import transfer as messages
from schedcomp.near import quoted
from schedcomp.output.canonical import Json
from schedcomp.output.transfer import (
    FORMAT,
    FORMAT_KEY,
    Document,
    has_right_checksum,
    has_right_code,
)
from schedcomp.textfile import read_bytes
from schedcomp.transfer import Transfer
from schedcomp.transferform import NotInForm, Part
from schedcomp.transferparts import transfer_of

LARGEST_BYTES = 8_000_000
"""Several thousand events; a program of 100 takes about 50 kB."""

EXAMPLE = "transfer.json"

Findings = tuple[Diagnostic, ...]
Loaded = tuple[Transfer | None, Findings]


def load_transfer(path: Path | str) -> Loaded:
    """The transfer file at a path."""
    data, found = read_bytes(path, LARGEST_BYTES + 1, EXAMPLE)
    return (None, found) if data is None else read_transfer(data, str(path))


def read_transfer(data: bytes, name: str) -> Loaded:
    """As `load_transfer`, for what a file holds; `name` is the file for people.

    Other blanks between the values, or another order of members, do no harm: the checksum is that
    of the canonical form.
    """
    document, found = _document(data, name)
    if document is None:
        return None, found
    found = _seal_findings(document, name)
    if found:
        return None, found
    try:
        return transfer_of(Part(document)), ()
    except NotInForm as wrong:
        part = wrong.place or "At the top"
        return None, (messages.NOT_IN_FORM.at(None, name=name, part=part, what=wrong.what),)


# Text to document


class _Refused(ValueError):  # noqa: N818 - it is an answer, not an error of ours
    """A value that JSON allows and no transfer file holds."""


def _document(data: bytes, name: str) -> tuple[Document | None, Findings]:
    """The record of a transfer file of whatever version, its content not looked at."""
    try:
        seen = _seen_in_bytes(data)
        text = "" if seen else data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        seen = messages.NOT_TEXT.format(number=error.start + 1)
    if seen:
        return None, (_no_transfer_file(name, seen),)
    try:
        value = _value(text)
    except json.JSONDecodeError as error:
        at = SourceRange(Source(name, text), max(0, min(error.pos, len(text) - 1)), 1)
        seen = messages.SENSELESS.format(line=at.line, column=at.column)
        return None, (_no_transfer_file(name, seen, at),)
    except _Refused as refused:
        return None, (_no_transfer_file(name, str(refused)),)
    except ValueError:
        return None, (_no_transfer_file(name, messages.MANY_DIGITS),)
    except RecursionError:
        return None, (_no_transfer_file(name, messages.TOO_DEEP),)
    if not isinstance(value, Mapping) or FORMAT_KEY not in value:
        return None, (_no_transfer_file(name, _other_kind(value)),)
    return value, ()


def _seen_in_bytes(data: bytes) -> str:
    if len(data) > LARGEST_BYTES:
        return messages.TOO_BIG.format(most=LARGEST_BYTES // 1_000_000)
    return "" if data.strip() else messages.EMPTY


def _value(text: str) -> Json:
    value: Json = json.loads(text, object_pairs_hook=_record, parse_constant=_no_number)
    return value


def _record(members: list[tuple[str, Json]]) -> Document:
    record = dict(members)
    if len(record) < len(members):
        twice = Counter(name for name, _ in members).most_common(1)[0][0]
        raise _Refused(messages.TWICE.format(found=quoted(twice)))
    return record


def _no_number(word: str) -> Json:
    raise _Refused(messages.NO_NUMBER.format(found=word))


def _other_kind(value: Json) -> str:
    if isinstance(value, Mapping) and "schedcomp_check" in value:
        return messages.IS_CHECK
    return messages.NO_FORMAT_LINE.format(key=FORMAT_KEY)


def _no_transfer_file(name: str, seen: str, at: SourceRange | None = None) -> Diagnostic:
    return messages.NOT_A_TRANSFER_FILE.at(at, name=name, seen=seen)


# Version and seal


def _seal_findings(document: Document, name: str) -> Findings:
    """What is wrong with version, checksum or program code; of these only the first."""
    try:
        seal = has_right_checksum(document)
        code = seal and has_right_code(document)
    except ValueError:
        return (messages.DAMAGED.at(None, name=name, what=messages.BAD_VALUE),)
    except RecursionError:
        return (_no_transfer_file(name, messages.TOO_DEEP),)
    version = document[FORMAT_KEY]
    if version != FORMAT or isinstance(version, bool):
        return (_other_version(version, name, sealed=seal),)
    if not seal:
        return (messages.DAMAGED.at(None, name=name, what=messages.BAD_CHECKSUM),)
    if not code:
        found = quoted(str(document.get("program_code")))
        what = messages.BAD_CODE.format(found=found)
        return (messages.DAMAGED.at(None, name=name, what=what),)
    return ()


def _other_version(version: Json, name: str, *, sealed: bool) -> Diagnostic:
    is_older = isinstance(version, int) and version < FORMAT
    what, fix = (
        (messages.OLDER, messages.BUILD_AGAIN)
        if is_older
        else (messages.LATER, messages.USE_THE_LATER)
    )
    return messages.OTHER_VERSION.at(
        None,
        name=name,
        found=quoted(json.dumps(version)),
        known=FORMAT,
        what=what,
        seal="" if sealed else messages.NOT_SEALED,
        fix=fix,
    )
