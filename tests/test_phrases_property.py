"""Laws of phrases: printing and reading are each other's inverse, and any text gets an answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedcomp.diag import Diagnostic, PhraseText, Severity, Source, SourceRange, render_one
from schedcomp.illuminance import altitude_degrees
from schedcomp.messages.registry import every_kind
from schedcomp.model import Half
from schedcomp.phrases import (
    parse_calendar_line,
    parse_dates,
    parse_duration,
    parse_hours,
    parse_keep_dark,
    parse_moment,
    parse_promise,
    parse_stretch,
    parse_sun_definition,
    parse_window,
)
from schedcomp.phrases.printer import (
    print_calendar_line,
    print_dates_phrase,
    print_duration,
    print_hours,
    print_keep_dark,
    print_moment,
    print_promise,
    print_stretch,
    print_sun_definition,
    print_window,
)
from schedcomp.phrases.tree import (
    CalendarLine,
    DatesPhrase,
    HoursValue,
    KeepDarkLine,
    Moment,
    PromiseLine,
    Stretch,
    SunDefinition,
    SunLevel,
    Window,
)
from tests import strategies as made_up

Tree = TypeVar("Tree")
Answer = tuple[Tree | None, tuple[Diagnostic, ...]]
Parse = Callable[[PhraseText], tuple[object, tuple[Diagnostic, ...]]]

PARSES: dict[str, Parse] = {
    "window": parse_window,
    "moment": parse_moment,
    "calendar line": parse_calendar_line,
    "keep dark": parse_keep_dark,
    "promise": parse_promise,
    "dates": lambda phrase: parse_dates(phrase, halves_allowed=True),
    "whole dates": lambda phrase: parse_dates(phrase, halves_allowed=False),
    "stretch": parse_stretch,
    "hours": parse_hours,
    "dusk": lambda phrase: parse_sun_definition(phrase, Half.EVENING),
    "dawn": lambda phrase: parse_sun_definition(phrase, Half.MORNING),
    "duration": parse_duration,
    "end": lambda phrase: parse_moment(phrase, is_end=True),
}
EVERY_PARSE = pytest.mark.parametrize("parse", PARSES.values(), ids=PARSES.keys())


def in_file(text: str) -> PhraseText:
    """A phrase as the third line of a file."""
    source = Source("site.toml", f'# a site\n\nx = "{text}"\n# more\n')
    return PhraseText(text, SourceRange(source, 15, len(text)))


def reads_back(parse: Callable[[PhraseText], Answer[Tree]], text: str, tree: Tree) -> None:
    again, findings = parse(in_file(text))
    assert findings == (), render_one(findings[0])
    assert again == tree


class TestPrintedTextReadsBack:
    """parse(print(tree)) == tree."""

    @given(made_up.windows)
    def test_windows(self, tree: Window) -> None:
        reads_back(parse_window, print_window(tree), tree)

    @given(made_up.moments(made_up.end_clocks))
    def test_moments(self, tree: Moment) -> None:
        reads_back(lambda p: parse_moment(p, is_end=True), print_moment(tree), tree)

    @given(made_up.dates_phrases)
    def test_dates(self, tree: DatesPhrase) -> None:
        text = print_dates_phrase(tree)
        reads_back(lambda p: parse_dates(p, halves_allowed=True), text, tree)

    @given(made_up.calendar_lines)
    def test_calendar_lines(self, tree: CalendarLine) -> None:
        reads_back(parse_calendar_line, print_calendar_line(tree), tree)

    @given(made_up.keep_dark_lines)
    def test_keep_dark_lines(self, tree: KeepDarkLine) -> None:
        reads_back(parse_keep_dark, print_keep_dark(tree), tree)

    @given(made_up.promises)
    def test_promises(self, tree: PromiseLine) -> None:
        reads_back(parse_promise, print_promise(tree), tree)

    @given(made_up.stretches)
    def test_stretches(self, tree: Stretch) -> None:
        reads_back(parse_stretch, print_stretch(tree), tree)

    @given(made_up.hours_values)
    def test_hours(self, tree: HoursValue) -> None:
        reads_back(parse_hours, print_hours(tree), tree)

    @pytest.mark.parametrize("half", Half)
    @given(data=st.data())
    def test_sun_definitions(self, half: Half, data: st.DataObject) -> None:
        tree = data.draw(made_up.sun_definitions(half))
        text = print_sun_definition(tree)
        reads_back(lambda p: parse_sun_definition(p, half), text, tree)

    @given(st.integers(10, 400_000_000).map(lambda n: n / 10_000), made_up.offsets_minutes)
    def test_light(self, lux: float, offset: int) -> None:
        level = altitude_degrees(lux)
        assert level is not None
        tree = SunDefinition(SunLevel(level, lux), offset)
        text = print_sun_definition(tree)
        reads_back(lambda p: parse_sun_definition(p, Half.EVENING), text, tree)

    @given(st.integers(0, 86_400))
    def test_durations(self, seconds: int) -> None:
        reads_back(parse_duration, print_duration(seconds), seconds)


class TestSpellingDoesNotMatter:
    """Capitals and blanks change nothing."""

    @given(made_up.windows, st.sampled_from([" ", "\t", "  ", "\u00a0", "\n"]))
    def test_windows(self, tree: Window, blank: str) -> None:
        text = print_window(tree).upper().replace(" ", blank)
        reads_back(parse_window, f"{blank}{text}{blank}", tree)

    @given(made_up.keep_dark_lines.filter(lambda line: "holiday " not in print_keep_dark(line)))
    def test_keep_dark_lines(self, tree: KeepDarkLine) -> None:
        text = print_keep_dark(tree).upper().replace(" - ", "−").replace("-", "–")
        reads_back(parse_keep_dark, text, tree)


WORDS = """
on from until the later earlier of and or dusk dawn sunset close open all day every evenings
mornings except in to holiday holidays easter rrule starting before after first last mon fri sun
jan dec noon midnight am pm h min s lux deg below above horizon civil closed lit dark FREQ=DAILY
FREQ=WEEKLY;INTERVAL=2 24 7 25:00 23:30 12:60 24:00 2027-12-24 2027-02-29 03/04 12.07.2027 22.30
1e5 : , - + ( ) ' " ; = . (observed) \x00 \u2212 \u2019 é 日 ²
"""
LIKE_PHRASES = st.lists(
    st.tuples(st.sampled_from(WORDS.split()), st.sampled_from(["", " ", "\t"]))
).map(lambda pieces: "".join(word + blank for word, blank in pieces))


class TestAnyTextGetsAnAnswer:
    """A tree without findings, or no tree and one finding whose place lies in the phrase."""

    @EVERY_PARSE
    @settings(max_examples=60)
    @given(text=st.text(max_size=60) | LIKE_PHRASES)
    def test_any_text(self, parse: Parse, text: str) -> None:
        phrase = in_file(text)
        tree, findings = parse(phrase)
        if tree is not None:
            assert findings == ()
            return
        (finding,) = findings
        assert finding.severity is Severity.PROBLEM
        assert finding.at is not None
        assert phrase.at.start <= finding.at.start
        assert finding.at.start + finding.at.length <= phrase.at.start + len(text)
        assert finding.code in {kind.code for kind in every_kind()}
        rendered = render_one(finding)
        assert "To fix: " in rendered
        assert all(line.isprintable() for line in finding.title.splitlines())

    @EVERY_PARSE
    @settings(max_examples=30)
    @given(text=LIKE_PHRASES)
    def test_a_phrase_spelled_with_escapes_is_shown_whole(self, parse: Parse, text: str) -> None:
        source = Source("site.toml", '"\\u0020"')
        whole = SourceRange(source, 1, 6)
        _, findings = parse(PhraseText(text, whole))
        assert all(finding.at == whole for finding in findings)
