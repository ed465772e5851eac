"""A strict reader of one table: wrong types, unknown keys and impossible values become findings."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import islice
from typing import TypeVar

from schedcomp.diag import Diagnostic, PhraseText, SourceRange
from schedcomp.limits import ANY_NUMBER, LARGEST, LONGEST_TEXT, MOST_LINES, Limits
from schedcomp.messages import files, meaning
from schedcomp.near import begin_alike, near_words, quoted
from schedcomp.records import Record, field
from schedcomp.tomlcursor import MAX_TROUBLES
from schedcomp.tomlhints import in_quotes, typed_line
from schedcomp.tomlnodes import Entry, Items, Node, Table, Unreadable, Value, number_of
from schedcomp.words import join_and, join_or

Tree = TypeVar("Tree")
Parser = Callable[[PhraseText], tuple[Tree | None, tuple[Diagnostic, ...]]]
Examples = Mapping[str, str]
Item = TypeVar("Item")


class Reader(Record):
    """Reads the keys of one table. A method returns None where a key is missing or wrong.

    `part` names the table for people (`[site]`); `examples` has every key it may have, with an
    example value as one would write it. Findings are added to `found`.
    """

    table: Table
    part: str
    examples: Examples
    found: list[Diagnostic]
    _by_key: dict[str, Entry] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._by_key.update((entry.key, entry) for entry in self.table.entries)

    def check_keys(self, elsewhere: Mapping[str, Examples] | None = None) -> None:
        """Tell every key that is not known; `elsewhere` are the keys of other parts."""
        unknown = (
            entry
            for entry in self.table.entries
            if entry.key not in self.examples and not isinstance(entry.value, Unreadable)
        )
        for entry in islice(unknown, MAX_TROUBLES):
            self.found.append(self._unknown(entry, elsewhere or {}))
        if more := next(unknown, None):
            self.found.append(files.TOO_MANY.at(more.key_at, name=more.key_at.source.name))

    def _unknown(self, entry: Entry, elsewhere: Mapping[str, Examples]) -> Diagnostic:
        key = quoted(entry.key)
        near = near_words(entry.key, self.examples)
        homes = [part for part, keys in elsewhere.items() if entry.key in keys]
        if homes and not (near and near[0].casefold() == entry.key.casefold()):
            return meaning.KEY_ELSEWHERE.at(
                entry.key_at, key=key, part=self.part, other=join_or(homes)
            )
        if near:
            rest = _after_key(entry)
            return meaning.NEAR_KEY.at(
                entry.key_at,
                key=key,
                part=self.part,
                near=join_or(near),
                typed=typed_line(f"{near[0]}{rest}", self.example(near[0])),
            )
        return meaning.UNKNOWN_KEY.at(
            entry.key_at,
            key=key,
            part=self.part,
            known=join_and([*self.examples]),
            typed=typed_line(f"# {entry.key_at.line_text.strip()}", f"# {key}"),
        )

    def check_version(self, key: str, version: int) -> None:
        """Tell a missing format line, or one of another edition."""
        entry = self.entry(key)
        if entry is None:
            if not self.table.has_gaps:
                self.found.append(meaning.NO_VERSION.at(self.table.at, key=key))
        elif not isinstance(entry.value, Unreadable) and number_of(entry.value) != version:
            found = quoted(entry.value.at.text)
            self.found.append(meaning.OTHER_VERSION.at(entry.value.at, key=key, found=found))

    def entry(self, key: str) -> Entry | None:
        return self._by_key.get(key)

    def entries(self) -> Sequence[Entry]:
        """The entries of a table whose keys are the user's own."""
        return self._within(self.table.entries, MOST_LINES, self.part, self.table.at)

    def _within(
        self, items: Sequence[Item], most: int, key: str, at: SourceRange
    ) -> Sequence[Item]:
        """The first of them, and that there are too many."""
        if len(items) > most:
            kind = meaning.TOO_MANY_LINES
            self.found.append(kind.at(at, key=key, count=f"{len(items):,}", most=f"{most:,}"))
        return items[:most]

    def given(self, key: str) -> bool:
        return self.entry(key) is not None

    def place(self, key: str) -> SourceRange | None:
        """Where the value of a key stands."""
        entry = self.entry(key)
        return entry.value.at if entry else None

    def example(self, key: str) -> str:
        return f"{key} = {self.examples[key]}"

    def missing(self, key: str, why: str) -> None:
        """Tell that a key is needed, unless it is given or may stand in an unreadable line."""
        if self.lacks(key):
            self.found.append(
                meaning.MISSING_KEY.at(
                    self.table.at, part=self.part, key=key, why=why, typed=self.example(key)
                )
            )

    def lacks(self, key: str) -> bool:
        """Whether a key is left out: not given, not misspelt, nor in a line without its name."""
        if self.given(key) or self.table.has_gaps:
            return False
        unknown = (e.key for e in self.table.entries if e.key not in self.examples)
        known = islice(unknown, MAX_TROUBLES)
        return not any(key in near_words(word, self.examples)[:1] for word in known)

    # Texts

    def text(self, key: str) -> str | None:
        """A text that is not empty and fits on one line, without blanks around it."""
        phrase = self.phrase(key)
        if phrase is None:
            return None
        text = phrase.text.strip()
        if not text.isprintable():
            self.found.append(meaning.UNPRINTABLE.at(phrase.at, key=key, typed=self.example(key)))
            return None
        if len(text) > LONGEST_TEXT:
            finding = meaning.TEXT_TOO_LONG.at(
                phrase.at,
                key=key,
                count=f"{len(text):,}",
                most=LONGEST_TEXT,
                typed=self.example(key),
            )
            self.found.append(finding)
            return None
        return text

    def blank_or_text(self, key: str) -> str:
        """A text that may be left out or empty: then it is a blank line on paper."""
        entry = self.entry(key)
        if entry and isinstance(entry.value, Value) and entry.value.content == "":
            return ""
        return self.text(key) or ""

    def phrase(self, key: str) -> PhraseText | None:
        """A text that is not empty, with its place."""
        entry = self.entry(key)
        return self.phrase_of(entry.value, key) if entry else None

    def phrase_of(self, node: Node, key: str, lead: str | None = None) -> PhraseText | None:
        """A value as a text; `lead` is what stands before it in the line to type."""
        lead = f"{key} = " if lead is None else lead
        if isinstance(node, Unreadable):
            return None
        if not isinstance(node, Value) or not isinstance(node.content, str):
            self.found.append(self._needs_text(node, key, lead))
            return None
        if not node.content.strip():
            example = self.examples.get(key, '"usual"')
            typed = f"{lead}{example}" if lead else example.strip("[]")
            self.found.append(meaning.BLANK_TEXT.at(node.at, key=key, typed=typed))
            return None
        return node.phrase()

    def _needs_text(self, node: Node, key: str, lead: str) -> Diagnostic:
        found = quoted(node.at.text)
        if not isinstance(node, Value):
            return meaning.NEEDS_TEXT.at(
                node.at, key=key, found=found, what=_what(node), typed=self.example_text(key, lead)
            )
        typed = typed_line(f"{lead}{in_quotes(node.at.text)}", self.example_text(key, lead))
        if not isinstance(node.content, bool | int | float):
            return files.UNQUOTED_TIME.at(node.at, found=found, typed=typed)
        if isinstance(node.content, float) and _looks_like_clock(node.at.text):
            typed = typed.replace(".", ":")
        return meaning.NEEDS_TEXT.at(node.at, key=key, found=found, what=_what(node), typed=typed)

    def example_text(self, key: str, lead: str) -> str:
        return f"{lead}{self.examples.get(key, '').strip('[]')}"

    def phrases(
        self, key: str, *, one_is_enough: bool = False, most: int = MOST_LINES
    ) -> tuple[PhraseText, ...] | None:
        """A list of texts; with `one_is_enough` also a single text."""
        entry = self.entry(key)
        if entry is None or isinstance(entry.value, Unreadable):
            return None
        if isinstance(entry.value, Items) and not entry.value.is_parts:
            items = self._within(entry.value.items, most, key, entry.key_at)
            read = (self.phrase_of(item, key, "") for item in items)
            return tuple(phrase for phrase in read if phrase is not None)
        if one_is_enough:
            single = self.phrase_of(entry.value, key)
            return None if single is None else (single,)
        written = quoted(entry.value.at.text)
        is_text = isinstance(entry.value, Value) and isinstance(entry.value.content, str)
        typed = f"{key} = [{entry.value.at.text}]" if is_text else self.example(key)
        self.found.append(
            meaning.NEEDS_LIST.at(
                entry.value.at,
                key=key,
                found=written,
                what=_what(entry.value),
                typed=typed_line(typed, self.example(key)),
            )
        )
        return None

    def parsed(self, key: str, parser: Parser[Tree]) -> Tree | None:
        """A phrase read by its parser."""
        phrase = self.phrase(key)
        return None if phrase is None else self.take(parser(phrase))

    def parsed_all(
        self, key: str, parser: Parser[Tree], most: int = MOST_LINES
    ) -> tuple[Tree, ...]:
        """A list of phrases, each read by the parser; those with mistakes are left out."""
        read = (self.take(parser(phrase)) for phrase in self.phrases(key, most=most) or ())
        return tuple(tree for tree in read if tree is not None)

    def take(self, answer: tuple[Tree | None, tuple[Diagnostic, ...]]) -> Tree | None:
        """The value of another stage's answer, with its findings added."""
        self.found.extend(answer[1])
        return answer[0]

    def choice(self, key: str, options: tuple[str, ...]) -> str | None:
        """One of some words; capitals do not matter."""
        phrase = self.phrase(key)
        if phrase is None:
            return None
        asked = " ".join(phrase.text.split()).casefold()
        if asked in options:
            return asked
        near = near_words(asked, options) or tuple(o for o in options if begin_alike(asked, o))
        known = join_or([f'"{o}"' for o in options])
        kind = meaning.NEAR_CHOICE if near else meaning.NOT_A_CHOICE
        self.found.append(
            kind.at(
                phrase.at,
                key=key,
                found=quoted(phrase.text),
                known=known,
                near=join_or([f'"{n}"' for n in near]),
                typed=f'{key} = "{(near or options)[0]}"',
            )
        )
        return None

    # Numbers

    def number(self, key: str, limits: Limits = ANY_NUMBER) -> float | None:
        """A number within limits; infinite ones and texts are refused."""
        entry = self.entry(key)
        if entry is None or isinstance(entry.value, Unreadable):
            return None
        node = entry.value
        number = number_of(node)
        if number is None:
            self.found.append(
                meaning.NEEDS_NUMBER.at(
                    node.at,
                    key=key,
                    found=quoted(node.at.text),
                    what=_what(node),
                    typed=self._typed_number(key, node),
                )
            )
            return None
        if not (math.isfinite(number) and limits.holds(number)):
            self.found.append(
                meaning.OUT_OF_RANGE.at(
                    node.at,
                    key=key,
                    found=quoted(node.at.text),
                    allowed=limits.words,
                    typed=self.example(key),
                )
            )
            return None
        return number

    def _typed_number(self, key: str, node: Node) -> str:
        if isinstance(node, Value) and isinstance(node.content, str):
            first = node.content.replace(",", ".").split()[:1]
            if first and _is_number(first[0]):
                return f"{key} = {first[0]}"
        return self.example(key)

    def whole(self, key: str, limits: Limits = ANY_NUMBER) -> int | None:
        """A whole number within limits."""
        number = self.number(key, limits)
        if number is None:
            return None
        if number != int(number):
            place = self.place(key)
            assert place is not None
            nearest = min(max(round(number), limits.low), limits.high)
            self.found.append(
                meaning.NEEDS_WHOLE.at(
                    place, key=key, found=quoted(place.text), typed=f"{key} = {nearest:g}"
                )
            )
            return None
        return int(number)

    def flag(self, key: str) -> bool | None:
        entry = self.entry(key)
        if entry is None or isinstance(entry.value, Unreadable):
            return None
        node = entry.value
        if isinstance(node, Value) and isinstance(node.content, bool):
            return node.content
        no = str(node.content).casefold() in ("false", "no", "0") if isinstance(node, Value) else 0
        self.found.append(
            meaning.NEEDS_FLAG.at(
                node.at,
                key=key,
                found=quoted(node.at.text),
                what=_what(node),
                typed=f"{key} = {'false' if no else 'true'}",
            )
        )
        return None

    def seconds(self, key: str, parser: Parser[int]) -> int | None:
        """A duration with its unit, such as "10 min"."""
        entry = self.entry(key)
        number = number_of(entry.value) if entry else None
        if entry is not None and number is not None:
            written = quoted(entry.value.at.text)
            self.found.append(
                meaning.NEEDS_UNIT.at(
                    entry.value.at,
                    key=key,
                    found=written,
                    typed=f'{key} = "{round(number)} min"'
                    if abs(number) < LARGEST
                    else self.example(key),
                )
            )
            return None
        return self.parsed(key, parser)

    def minutes(self, key: str, parser: Parser[int]) -> int | None:
        """A duration of whole minutes."""
        seconds = self.seconds(key, parser)
        if seconds is None or seconds % 60 == 0:
            return None if seconds is None else seconds // 60
        place = self.place(key)
        assert place is not None
        self.found.append(
            meaning.WHOLE_MINUTES.at(
                place,
                key=key,
                found=quoted(place.text),
                typed=f'{key} = "{math.ceil(seconds / 60)} min"',
            )
        )
        return None

    # Tables

    def group(self, key: str) -> Table | None:
        """A table: a part of its own or a group in braces."""
        entry = self.entry(key)
        if entry is None or isinstance(entry.value, Table | Unreadable):
            return entry.value if entry and isinstance(entry.value, Table) else None
        if isinstance(entry.value, Items) and entry.value.is_parts:
            self.found.append(meaning.SINGLE_PART.at(entry.value.at, key=key))
            return None
        self.found.append(
            meaning.NEEDS_GROUP.at(
                entry.value.at,
                key=key,
                found=quoted(entry.value.at.text),
                what=_what(entry.value),
                typed=self.example(key),
            )
        )
        return None

    def parts(self, key: str) -> Iterator[Table]:
        """The tables of `[[key]]`; a single `[key]` is told and still read."""
        entry = self.entry(key)
        node = entry.value if entry else None
        if isinstance(node, Table):
            if not node.repeats:
                self.found.append(meaning.NEEDS_PARTS.at(node.at, key=key))
            yield node
            yield from node.repeats
        elif isinstance(node, Items):
            for item in self._within(node.items, MOST_LINES, key, node.at):
                if isinstance(item, Table):
                    yield item
                elif not isinstance(item, Unreadable):
                    self.found.append(meaning.NEEDS_PARTS.at(item.at, key=key))
        elif isinstance(node, Value):
            self.found.append(meaning.NEEDS_PARTS.at(node.at, key=key))


def _what(node: Node) -> str:
    if isinstance(node, Table):
        return "a part of its own" if node.is_part else "a group"
    if isinstance(node, Items):
        return "a list"
    if isinstance(node, Value):
        if isinstance(node.content, str):
            return "a text"
        if isinstance(node.content, bool):
            return "yes or no"
        return "a number" if isinstance(node.content, int | float) else "a date or time"
    return "not readable"


def _after_key(entry: Entry) -> str:
    """What stands behind a key on its line, with a closing quote of the key left out."""
    line = entry.key_at.line_text
    rest = line[entry.key_at.column - 1 + entry.key_at.length :]
    return rest.lstrip("\"'") if rest[:1] in ("'", '"') else rest


def _looks_like_clock(written: str) -> bool:
    return re.fullmatch(r"0*(?:1?[0-9]|2[0-4])\.[0-5][0-9]", written) is not None


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text)) and "_" not in text
    except ValueError:
        return False
