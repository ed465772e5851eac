"""TOML with positions: places of keys and values, mistakes in plain words, hostile files."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import tomli
from hypothesis import given, settings
from hypothesis import strategies as st

from schedcomp.diag import Source, render
from schedcomp.textfile import LARGEST_BYTES, source_from_bytes
from schedcomp.tomlcursor import MAX_DEPTH, MAX_TROUBLES
from schedcomp.tomlfile import (
    Document,
    Entry,
    Items,
    Node,
    Table,
    Unreadable,
    Value,
    read_document,
    read_source,
)

FIRST_LINE = "schedcomp = 1"


def read(text: str) -> tuple[Document, str]:
    """The document of a text and its findings as people see them."""
    document, found = read_document(Source("site.toml", text), FIRST_LINE, ("circuit",))
    assert document is not None
    return document, render(found)


def entry(table: Table, key: str) -> Entry:
    return next(e for e in table.entries if e.key == key)


def plain(node: Node) -> object:
    """A node as tomli would give it."""
    if isinstance(node, Table):
        return {e.key: plain(e.value) for e in node.entries}
    if isinstance(node, Items):
        return [plain(item) for item in node.items]
    assert isinstance(node, Value)
    return node.content


def values(node: Node) -> Iterator[Value]:
    if isinstance(node, Table):
        for e in node.entries:
            yield from values(e.value)
    elif isinstance(node, Items):
        for item in node.items:
            yield from values(item)
    elif isinstance(node, Value):
        yield node


# Places

PLACES = """\
a = 1
"b c" . d = 'x' # remark
e = [ "p", [2,
  3.5], { f = true, g.h = "y" } ]
\t"i" = \"\"\"
two
lines\"\"\"
[j."k l"]
m = "a\\tb"
[[n]]
o = 2027-01-02
[[n]]
o = 07:30
[n.q]
r = 0x1F
"""


def test_every_value_and_key_is_found_where_it_stands() -> None:
    document, found = read(PLACES)
    assert found == ""
    assert plain(document.root) == tomli.loads(PLACES)
    written = [value.at.text for value in values(document.root)]
    assert written == [
        "1", "'x'", '"p"', "2", "3.5", "true", '"y"', '"""\ntwo\nlines"""', '"a\\tb"',
        "2027-01-02", "07:30", "0x1F",
    ]  # fmt: skip
    nested = entry(document.root, "b c")
    assert (nested.key_at.line, nested.key_at.column, nested.key_at.text) == (2, 2, "b c")
    tab = entry(document.root, "i").key_at
    assert (tab.line, tab.column) == (5, 3)


def test_a_phrase_begins_inside_its_quotes() -> None:
    document, _ = read("x = \"on at dsk\"\ny = 'on at dsk'\n")
    for key in ("x", "y"):
        value = entry(document.root, key).value
        assert isinstance(value, Value)
        part = value.phrase().range(6, 3)
        assert (part.text, part.column) == ("dsk", 12)


def test_a_phrase_with_escapes_is_shown_as_a_whole() -> None:
    document, _ = read('x = "on \\u0061t dsk"\n')
    value = entry(document.root, "x").value
    assert isinstance(value, Value)
    assert value.phrase().text == "on at dsk"
    assert value.phrase().range(6, 3).text == "on \\u0061t dsk"


def test_columns_are_right_with_windows_line_ends() -> None:
    document, found = read('a = 1\r\nb = [\r\n  "x",\r\n  "y"\r\n]\r\nc = 7:30\r\n')
    items = entry(document.root, "b").value
    assert isinstance(items, Items)
    assert [(i.at.line, i.at.column) for i in items.items] == [(3, 3), (4, 3)]
    assert "at site.toml, line 6, column 5\n6 | c = 7:30\n  |     ^^^^\n" in found


SCALARS = (
    st.integers(-(10**12), 10**12)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.booleans()
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
)
KEYS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=6)
NODES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=8,
)


def quoted_key(key: str) -> str:
    plain_key = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
    return key if plain_key else written_text(key)


def written_text(text: str) -> str:
    body = "".join(
        f"\\{c}" if c in '"\\' else c if c.isprintable() else f"\\U{ord(c):08x}" for c in text
    )
    return f'"{body}"'


def written(value: object, gap: str) -> str:
    """A value in TOML, with `gap` inside its brackets."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return written_text(value)
    if isinstance(value, list):
        return "[" + gap + ("," + gap).join(written(v, gap) for v in value) + gap + "]"
    if isinstance(value, dict):
        pairs = (f"{quoted_key(k)} = {written(v, gap)}" for k, v in value.items())
        return "{" + gap + ("," + gap).join(pairs) + gap + "}"
    return repr(value)


@given(
    st.dictionaries(KEYS, NODES, max_size=4),
    st.dictionaries(KEYS, st.dictionaries(KEYS, NODES, max_size=3), max_size=3),
    st.sampled_from(["", " ", "\n", "\r\n\t", ' # a remark ] } " = \n']),
)
def test_each_value_of_any_document_is_found_and_reads_the_same_alone(
    top: dict[str, object], parts: dict[str, dict[str, object]], gap: str
) -> None:
    parts = {key: part for key, part in parts.items() if key not in top}
    text = "".join(f"{quoted_key(k)} = {written(v, gap)}\n" for k, v in top.items())
    for key, part in parts.items():
        text += f"[{quoted_key(key)}] # {key!a}\n"
        text += "".join(f"{quoted_key(k)} = {written(v, gap)}\r\n" for k, v in part.items())
    expected = tomli.loads(text)
    document, found = read_document(Source("any.toml", text), FIRST_LINE)
    assert found == () or not expected
    if document is None:
        assert not expected
        return
    assert plain(document.root) == expected
    for value in values(document.root):
        assert tomli.loads(f"v = {value.at.text}")["v"] == value.content


# Mistakes


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("a = 24:00", "E160"),
        ("a = 2027-02-30", "E160"),
        ("a = 007", "E164"),
        ("a = .5", "E164"),
        ("a = 1.234.567", "E164"),
        ("a = True", "E165"),
        ("a = no", "E165"),
        ("a = 1 b = 2", "E166"),
        ("a = ?", "E167"),
        ('a = """x', "E169"),
        ('a = "x\x01"', "E172"),
        ("a =", "E175"),
        ("a = # later", "E175"),
        ("b = { c = }", "E175"),
        ("= 1", "E177"),
        ("north lot", "E178"),
        ("[day types]", "E179"),
        ("[]", "E179"),
        ('b = { c = "x"', "E182"),
        ('a = "x",', "E184"),
        ('a = ["x",, "y"]', "E184"),
        ("a = 'x' y", "E185"),
        ("[a] b", "E185"),
        ("a.b = 1\n[a.b]", "E189"),
        ("a = 1\na.b = 2", "E189"),
        ("[[a]]\n[a]", "E190"),
        ("[a]\n[[a]]", "E190"),
        ("[a]\n[a]", "E188"),
        ("a = {b = 1}\n[a.c]", "E189"),
        ("a = 1\x0c", "E161"),
        ("b.c = 1\n[b]", "E192"),
    ],
)
def test_one_mistake_makes_one_finding(text: str, code: str) -> None:
    _, found = read_document(Source("site.toml", text + "\nlast = 1\n"), FIRST_LINE)
    assert [f.code for f in found] == [code]


def test_what_tomli_refuses_is_refused_even_where_the_scanner_sees_nothing() -> None:
    text = "[a.b]\nc = 1\n[a]\nb.d = 2\n"
    with pytest.raises(tomli.TOMLDecodeError):
        tomli.loads(text)
    _, found = read_document(Source("site.toml", text), FIRST_LINE)
    assert [(f.code, f.at.line if f.at else 0) for f in found] == [("E192", 4)]


def test_a_file_is_read_past_its_mistakes() -> None:
    text = """\
a = 7:30
[p
b = 1
c = [
  "x",
  y,
  "z",
]
d = "open
[[q]]
e = 35,2
f = 2
"""
    document, found = read(text)
    assert [line for line in found.splitlines() if line.startswith("  at ")] == [
        "  at site.toml, line 1, column 5",
        "  at site.toml, line 2, column 1",
        "  at site.toml, line 6, column 3",
        "  at site.toml, line 9, column 5",
        "  at site.toml, line 11, column 5",
    ]
    part = entry(document.root, "p").value
    assert isinstance(part, Table)
    assert [(e.key, type(e.value)) for e in part.entries] == [
        ("b", Value), ("c", Items), ("d", Unreadable)
    ]  # fmt: skip
    listed = entry(part, "c").value
    assert isinstance(listed, Items)
    assert [type(item) for item in listed.items] == [Value, Unreadable, Value]


def test_a_line_of_unknown_name_leaves_a_gap() -> None:
    document, _ = read('[hours]\ndec 24 = "closed"\nmon = "closed"\n')
    hours = entry(document.root, "hours").value
    assert isinstance(hours, Table)
    assert hours.has_gaps
    assert [e.key for e in hours.entries] == ["mon"]


# Files


def file_findings(data: bytes) -> str:
    return render(source_from_bytes("site.toml", data)[1])


def test_a_byte_order_mark_is_not_part_of_the_text() -> None:
    source, found = source_from_bytes("site.toml", b"\xef\xbb\xbfa = 1\n")
    assert source == Source("site.toml", "a = 1\n")
    assert found == ()


def test_old_line_ends_are_line_ends() -> None:
    source, _ = source_from_bytes("site.toml", b"a = 1\rb = 2\r\nc = 3\r")
    assert source is not None
    assert source.text == "a = 1\nb = 2\r\nc = 3\n"


def test_a_wrong_byte_is_named_with_its_line() -> None:
    assert file_findings(b'a = 1\nname = "Caf\xe9"\n').startswith(
        """\
Problem E704: The text of site.toml is not stored as UTF-8: byte 0xE9 on line 2
does not fit.
  at site.toml, line 2, column 12
2 | name = "Caf\ufffd"
  |            ^
"""
    )


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf16_is_told(encoding: str) -> None:
    assert "Problem E705" in file_findings("schedcomp = 1\n".encode(encoding))


def test_a_zero_byte_is_told() -> None:
    assert "Problem E706: site.toml is not a plain text file: there is a zero byte on line 2." in (
        file_findings(b"PK\x03\n\x04\x00\x01" + b"x" * 30).replace("\n", " ")
    )


@pytest.mark.parametrize(
    ("name", "usual", "ending"),
    [
        ("site.toml", ".toml", ".toml"),
        ("stores.csv", ".csv", ".csv"),
        ("stores.xls", ".csv", ".csv"),
        ("panel_a.txt", ".txt", ".txt"),
        ("hours", ".toml", ".toml"),
    ],
)
def test_how_to_store_a_file_anew_goes_by_its_kind(name: str, usual: str, ending: str) -> None:
    texts = [b"PK\x03\n\x04\x00\x01" + b"x" * 30, b"Caf\xe9", "a = 1\n".encode("utf-16")]
    zero, *encoded = [source_from_bytes(name, text, usual)[1][0].fix for text in texts]
    assert zero == f"save the text alone, in a file whose name ends with {ending}"
    assert {"spreadsheet" in fix for fix in encoded} == {ending == ".csv"}


def test_a_missing_file_is_told_with_the_nearest_name(tmp_path: Path) -> None:
    (tmp_path / "north-lot.toml").write_text("a = 1\n")
    source, found = read_source(tmp_path / "north_lot.toml")
    assert source is None
    assert [f.code for f in found] == ["E701"]
    assert "There is a file north-lot.toml in that folder." in found[0].why


def test_folders_and_unusable_names_are_told(tmp_path: Path) -> None:
    assert [f.code for f in read_source(tmp_path)[1]] == ["E702"]
    assert [f.code for f in read_source(tmp_path / "none" / "a.toml")[1]] == ["E701"]
    assert [f.code for f in read_source("a\0b")[1]] == ["E703"]
    assert [f.code for f in read_source("x" * 5000)[1]] == ["E703"]


def test_a_large_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    path.write_bytes(b"a" * (LARGEST_BYTES + 1))
    assert [f.code for f in read_source(path)[1]] == ["E707"]


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", " \t"])
def test_an_empty_file_is_told(text: str) -> None:
    document, found = read_document(Source("site.toml", text), FIRST_LINE)
    assert document is None
    assert [f.code for f in found] == ["E708"]


MB = LARGEST_BYTES
HOSTILE = {
    "good lines": "".join(f'key_{i} = "value {i}"\n' for i in range(MB // 30)),
    "bad lines": "key = va lue\n" * (MB // 13),
    "stray lines": "stray line\n" * (MB // 11),
    "same key": "key = 1\n" * (MB // 8),
    "parts": "[[part]]\n" * (MB // 9),
    "one part": "[part]\n" * (MB // 7),
    "one list": "a = [" + "1," * (MB // 2 - 10) + "]\n",
    "one bad list": "a = [" + "x," * (MB // 2 - 10) + "]\n",
    "open lists": "a = " + "[" * (MB - 5),
    "open lists of parts": "[" * MB,
    "open braces": "a = " + "{a=" * (MB // 3 - 2),
    "dots": "a" + ".a" * (MB // 2 - 5) + " = 1\n",
    "dots in a header": "[a" + ".a" * (MB // 2 - 5) + "]\n",
    "digits": "a = " + "9" * (MB - 5),
    "hexadecimal": "a = 0x" + "F" * (MB - 7),
    "blanks": "a = 1" + " " * (MB - 7) + "b\n",
    "words": "a = " + "x " * (MB // 2 - 5),
    "quotes": '"' * MB,
    "lines of quotes": 'a = "\n' * (MB // 6),
    "long quotes": 'a = """\n' * (MB // 8),
    "escapes": 'a = "' + "\\" * (MB - 10),
    "equals": "=" * MB,
    "commas": "a = [" + "," * (MB - 6),
    "remarks": "#" * MB,
    "closing": "a = [" + "]" * (MB - 6),
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_megabyte_of_anything_is_answered_soon(text: str) -> None:
    source, found = source_from_bytes("big.toml", text.encode())
    assert found == ()
    assert source is not None
    started = time.process_time()
    document, found = read_document(source, FIRST_LINE)
    render(found)
    # Generous, so that a slow machine passes; anything quadratic takes minutes.
    assert time.process_time() - started < 10
    assert document is None or found or document.root.entries
    assert len(found) <= MAX_TROUBLES + 1


def test_deep_nesting_is_told() -> None:
    for opening in ("[", "{ a = "):
        text = f"deep = {opening * 5000}\nnext = 1\n"
        document, found = read_document(Source("site.toml", text), FIRST_LINE)
        assert [f.code for f in found] == ["E186"]
        assert str(MAX_DEPTH) in found[0].title
        assert document is not None
        assert [e.key for e in document.root.entries] == ["deep", "next"]


def test_mistakes_without_end_are_cut_off() -> None:
    _, found = read_document(Source("site.toml", "k = v w\n" * 500), FIRST_LINE)
    assert [f.code for f in found].count("E161") <= MAX_TROUBLES
    assert "E191" in [f.code for f in found]


# Anything at all


def check_places(source: Source) -> None:
    document, found = read_document(source, FIRST_LINE)
    assert document is not None or found
    for finding in found:
        if finding.at is not None:
            assert 0 <= finding.at.start <= len(source.text)
            assert finding.at.start + finding.at.length <= len(source.text)
    assert all(len(line) <= 110 for line in render(found).splitlines())
    if not found and document is not None:
        assert same(plain(document.root), tomli.loads(source.text))


def same(one: object, other: object) -> bool:
    """Equal, where nan equals nan."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float) and isinstance(other, float) and math.isnan(one):
        return math.isnan(other)
    return one == other


PIECES = st.sampled_from(
    ["a", "b1", " ", "=", " = ", "\n", "\r\n", "\t", "[", "]", "[[", "]]", "{", "}", ",", '"', "'",
     '"""', "'''", "\\", "#", ".", "1", "7:30", "2027-01-02", "true", "x y", "\u201c", "\u201d",
     "-", "inf", "\x0b", "\x00", "\ufeff", "\U0001f4a1", ";", ":"]
)  # fmt: skip


@settings(max_examples=400)
@given(st.lists(PIECES, max_size=60).map("".join))
def test_no_text_of_toml_pieces_breaks_the_reader(text: str) -> None:
    check_places(Source("any.toml", text))


@given(st.text(max_size=200))
def test_no_text_breaks_the_reader(text: str) -> None:
    check_places(Source("any.toml", text))


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(data: bytes) -> None:
    source, found = source_from_bytes("any.toml", data)
    assert (source is None) == bool(found)
    render(found)
    if source is not None:
        check_places(source)


@pytest.mark.parametrize("signs", [".", ",", "_", "-.", "+,", "-_", "..."])
def test_signs_alone_are_no_number(signs: str) -> None:
    found = read(f"schedcomp = 1\nlatitude = {signs}\n")[1]
    assert found.startswith(f"Problem E167: {signs} cannot be read.")
