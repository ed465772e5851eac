"""Findings in plain words for mistakes in the writing of TOML, each with a line to type."""

from __future__ import annotations

import re

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.messages import files
from schedcomp.near import quoted
from schedcomp.tomlcursor import CURLY, MAX_DEPTH, MAX_ENTRIES
from schedcomp.tomlform import ScalarAt, Trouble, TroubleKind

LONGEST_TYPED = 74
LONGEST_LOOKED_AT = 300
EXAMPLE = 'name = "North lot"'

_CLOCK = re.compile(r"(?<!\d)(\d{1,2})[:.](\d{2})(?!\d)")
_ONLY_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::\d{2})?")
_DATE = re.compile(r"\d{4}-\d{1,2}-\d{1,2}")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_NAMES_ITS_UNIT = re.compile(r"_(minutes|hours|degrees|kw|per_kwh|amperes)\b")
_NUMBER_UNIT = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*[^\W\d_][^\d]*")
_NUMBER = re.compile(r"[+-]?[\d_.,]+(?:[eE][+-]?\d+)?")
_ENTRY = re.compile(r"[A-Za-z0-9_-]+\s*=")
_TWO = re.compile(r"(.*?)\s+([A-Za-z0-9_-]+\s*=\s*.+)")
_WORDS = {
    "true": "true",
    "yes": "true",
    "on": "true",
    "false": "false",
    "no": "false",
    "off": "false",
}


def bad_scalar(source: Source, scalar: ScalarAt) -> Diagnostic:
    """What is wrong with a value that tomli cannot read."""
    found = source.text[scalar.start : min(scalar.end, scalar.start + LONGEST_LOOKED_AT)]
    at = SourceRange(source, scalar.start, scalar.end - scalar.start)
    lead = _lead(source, scalar.begin, scalar.start)
    if found[:1] in ("'", '"'):
        return _bad_text(at, found, lead)
    if _ENTRY.match(found):
        inside = found.strip("}").strip()
        whole = typed_line(f"{lead}{{ {inside} }}", f"{lead}{{ {inside[:20].split(',')[0]} }}")
        return files.MISSING_BRACES.at(at, typed=whole)
    two = _TWO.fullmatch(found)
    if two:
        return files.TWO_ON_A_LINE.at(
            at, typed=typed_line(lead + two[1]), second=typed_line(two[2])
        )
    return _bad_bare(at, found, lead)


def _bad_text(at: SourceRange, found: str, lead: str) -> Diagnostic:
    if "\\" in found:
        plain = found.strip("\"'").replace("\\", "/")
        return files.BACKSLASH.at(at, found=quoted(found), typed=typed_line(f'{lead}"{plain}"'))
    plain = " ".join("".join(c if c.isprintable() else " " for c in found).strip("\"'").split())
    return files.CONTROL_CHARACTER.at(at, typed=typed_line(f'{lead}"{plain}"'))


def _bad_bare(at: SourceRange, found: str, lead: str) -> Diagnostic:
    shown = quoted(found)
    if not any(c.isalnum() for c in found):
        return files.BAD_VALUE.at(at, found=shown or "This", typed=EXAMPLE)
    if _DECIMAL_COMMA.fullmatch(found):
        typed = typed_line(lead + found.replace(",", "."))
        return files.DECIMAL_COMMA.at(at, found=shown, typed=typed)
    if found.casefold() in _WORDS:
        word = _WORDS[found.casefold()]
        return files.YES_OR_NO.at(at, found=shown, word=word, typed=typed_line(lead + word))
    if _NUMBER.fullmatch(found):
        return files.BAD_NUMBER.at(at, found=shown, typed=typed_line(lead + _mended_number(found)))
    if is_time_like(found):
        return files.UNQUOTED_TIME.at(at, found=shown, typed=typed_line(lead + in_quotes(found)))
    number = _NUMBER_UNIT.fullmatch(found)
    if number:
        value = number[1] if _NAMES_ITS_UNIT.search(lead) else in_quotes(found)
        return files.NUMBER_AND_UNIT.at(at, found=shown, typed=typed_line(lead + value))
    return files.UNQUOTED_WORDS.at(at, found=shown, typed=typed_line(lead + in_quotes(found)))


def is_time_like(found: str) -> bool:
    """Whether a value without quotes was meant as a clock time or a date."""
    return bool(_ONLY_CLOCK.fullmatch(found) or _DATE.match(found))


def in_quotes(found: str) -> str:
    """A value without quotes as the text it was meant to be; `7:30` gets its zero."""
    plain = found.strip(f" \t\"'{CURLY}").replace("\\", "/").replace('"', "'")
    clock = _ONLY_CLOCK.fullmatch(plain)
    if clock:
        plain = f"{int(clock[1]):02d}:{clock[2]}"
    return f'"{plain}"'


def _mended_number(found: str) -> str:
    number = found.replace("_", "").rstrip(".,")
    sign = number[0] if number[:1] in "+-" else ""
    number = number.lstrip("+-")
    if number.count(",") == 1 and "." in number:
        point = max(number.rfind(","), number.rfind("."))
        number = number[:point].replace(",", "").replace(".", "") + "." + number[point + 1 :]
    number = number.replace(",", ".")
    whole, point_sign, part = number.partition(".")
    whole = whole.lstrip("0") or "0"
    if not (part.isdigit() or part == "" or "e" in part.casefold()):
        return "12.5"
    return f"{sign.replace('+', '')}{whole}{point_sign if part else ''}{part}"


def trouble_found(source: Source, trouble: Trouble) -> Diagnostic:
    """What is wrong with the form of a text at one place."""
    at = SourceRange(source, trouble.start, trouble.end - trouble.start)
    found = at.text
    lead = _lead(source, trouble.begin, trouble.start)
    match trouble.kind:
        case TroubleKind.MISSING_QUOTE:
            return files.MISSING_QUOTE.at(at, typed=typed_line(lead + _closed(found)))
        case TroubleKind.CURLY_QUOTES:
            plain = _plain_quotes(found)
            return files.CURLY_QUOTES.at(at, found=quoted(found), typed=typed_line(lead + plain))
        case TroubleKind.MISSING_COMMA:
            typed = typed_line(source.text[max(trouble.begin, _line_start(at)) : trouble.end] + ",")
            return files.MISSING_COMMA.at(at, typed=typed)
        case TroubleKind.EXTRA_COMMA | TroubleKind.EXTRA_TEXT:
            return _extra(at, trouble, lead)
        case TroubleKind.UNCLOSED_TEXT:
            return files.UNCLOSED_TEXT.at(at, found=found, typed=typed_line(lead + '"North lot"'))
        case TroubleKind.UNCLOSED_LIST:
            return files.UNCLOSED_LIST.at(_first(at), typed=_bracket_closed(lead, found, "]"))
        case TroubleKind.UNCLOSED_BRACES:
            return files.UNCLOSED_BRACES.at(_first(at), typed=_bracket_closed(lead, found, "}"))
        case TroubleKind.TOO_DEEP:
            return files.TOO_DEEP.at(at, most=MAX_DEPTH, typed=EXAMPLE)
        case TroubleKind.TOO_LONG:
            return files.TOO_LONG.at(at, most=f"{MAX_ENTRIES:,}")
        case _:
            return _entry_trouble(at, trouble, found)


def _entry_trouble(at: SourceRange, trouble: Trouble, found: str) -> Diagnostic:
    text = at.source.text
    rest = text[trouble.end : _line_end(at)].strip()
    name = text[trouble.begin : trouble.start].strip()
    match trouble.kind:
        case TroubleKind.MISSING_EQUALS:
            value = text[trouble.start : _line_end(at)].strip()
            return files.MISSING_EQUALS.at(
                at,
                found=quoted(name),
                typed=typed_line(f"{name} = {_plain_quotes(value)}", f"{name} = "),
            )
        case TroubleKind.COLON:
            return files.COLON.at(at, found=quoted(name), typed=typed_line(f"{name} = {rest}"))
        case TroubleKind.MISSING_VALUE:
            return files.MISSING_VALUE.at(at, typed=typed_line(f"# {name} ="))
        case TroubleKind.BAD_KEY:
            words = found.strip(f" \t\"'{CURLY}")
            if not words or words.startswith("="):
                return files.NO_KEY.at(at, typed=typed_line(f"name = {rest.lstrip('= ')}"))
            return files.BAD_KEY.at(
                at, found=quoted(words), typed=typed_line(f'"{words}" {rest}', f'"{words}" =')
            )
        case TroubleKind.BAD_HEADER:
            words = re.sub(r"[^A-Za-z0-9]+", "_", found).strip("_") or "site"
            many = found.startswith("[[")
            return files.BAD_HEADER.at(at, found=quoted(found), typed=_header(words, many))
        case TroubleKind.HEADER_BRACKET:
            many = found.startswith("[[") or found.endswith("]]")
            return files.HEADER_BRACKET.at(
                at, found=quoted(found), typed=_header(found.strip("[] \t"), many)
            )
        case _:
            return files.STRAY_LINE.at(at, found=quoted(found), typed=typed_line(f"# {found}"))


def not_toml(source: Source, place: int) -> Diagnostic:
    """A text whose form looked right and that tomli refuses."""
    return files.NOT_TOML.at(SourceRange(source, place, 1), typed=EXAMPLE)


def _extra(at: SourceRange, trouble: Trouble, lead: str) -> Diagnostic:
    found = at.text
    if trouble.kind is TroubleKind.EXTRA_COMMA:
        name = {",": "comma", ";": "semicolon", ".": "full stop"}.get(found, quoted(found))
        return files.EXTRA_COMMA.at(at, found=name, typed=typed_line(lead.rstrip() or "]"))
    whole = (lead + found).strip()
    opened = re.match(r"[^\"']*?\"", whole)
    if opened and whole.count('"') > 2 and whole.endswith('"'):
        inside = whole[opened.end() : -1].replace('"', "'")
        return files.EXTRA_TEXT.at(
            at, found=quoted(found), typed=typed_line(f'{opened.group()}{inside}"')
        )
    single = re.match(r"([^\"']*?)('.*')", whole)
    if single and single.end() == len(whole) and single[2].count("'") > 2:
        inside = single[2].strip("'").replace('"', "'")
        return files.EXTRA_TEXT.at(
            at, found=quoted(found), typed=typed_line(f'{single[1]}"{inside}"')
        )
    remark = f"{lead.rstrip()}  # {found.strip()}"
    return files.EXTRA_TEXT.at(at, found=quoted(found), typed=typed_line(remark))


def _first(at: SourceRange) -> SourceRange:
    return SourceRange(at.source, at.start, 1)


def _bracket_closed(lead: str, found: str, close: str) -> str:
    """The whole entry with its closing bracket, or the bracket alone after several lines."""
    whole = f"{lead}{found.rstrip().rstrip(',')}{' ' if close == '}' else ''}{close}"
    return close if "\n" in found.rstrip() else typed_line(whole, close)


def _closed(found: str) -> str:
    """A text with its missing quote added."""
    quote = found[0]
    return f"{quote}{found[1:].rstrip()}{quote}"


def _plain_quotes(found: str) -> str:
    inside = found.strip()
    if inside[:1] not in (*CURLY, "'", '"'):
        return inside
    inside = inside.strip(f"{CURLY}\"'")
    for mark in CURLY:
        inside = inside.replace(mark, "'")
    return '"' + inside.replace('"', "'") + '"'


def _header(words: str, many: bool) -> str:
    return typed_line(f"[[{words}]]" if many else f"[{words}]", "[site]")


def _lead(source: Source, begin: int, start: int) -> str:
    """What stands on the line of a mistake before it, from where its entry begins."""
    line_start = source.text.rfind("\n", 0, start) + 1
    lead = source.text[max(begin, line_start) : start]
    return lead if begin >= line_start else lead.lstrip()


def typed_line(line: str, fallback: str = EXAMPLE) -> str:
    """A line to type, or an example where the line is too long or holds unseen signs."""
    line = line.strip().replace("\t", " ")
    return line if len(line) <= LONGEST_TYPED and line.isprintable() else fallback


def _line_start(at: SourceRange) -> int:
    return at.source.text.rfind("\n", 0, at.start) + 1


def _line_end(at: SourceRange) -> int:
    end = at.source.text.find("\n", at.start)
    return len(at.source.text) if end < 0 else end
