"""The only door to the holidays library: the entries of a country's list, in one form.

The library is imported when a country is asked for, with that country alone, and its language is
always named, because it would otherwise follow the settings of the computer.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from functools import lru_cache
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec, module_from_spec
from typing import TYPE_CHECKING

from schedcomp.records import Record

if TYPE_CHECKING:
    from holidays import HolidayBase

Texts = Mapping[date, frozenset[str]]
"""The entries of each date as the library words them."""


class Entry(Record):
    """One holiday of a list.

    `name` is English where the list has it, without words for observed or estimated;
    `other_names` are the same in the list's own language. `observed`: a date given instead of the
    one on which the holiday falls, and worded so. `estimated`: computed, to be announced.
    """

    day: date
    name: str
    other_names: tuple[str, ...] = ()
    observed: bool = False
    estimated: bool = False


class CountryList(Record):
    """The list read both ways: with dates moved as the law says, and as the holidays fall."""

    with_observed: tuple[Entry, ...]
    without_observed: tuple[Entry, ...]


class CountryFacts(Record):
    """What a country's list can be asked for; years None: no limit is known.

    `subdivisions` are (code, other names).
    """

    code: str
    subdivisions: tuple[tuple[str, tuple[str, ...]], ...]
    first_year: int | None
    last_year: int | None

    def subdivision(self, written: str) -> str | None:
        """The code of a part written as a code or a name, in any case."""
        wanted = written.strip().casefold()
        for code, names in self.subdivisions:
            if wanted in (name.casefold() for name in (code, *names)):
                return code
        return None


@lru_cache(maxsize=1)
def library_version() -> str:
    return version("holidays")


@lru_cache(maxsize=64)
def country_facts(code: str) -> CountryFacts | None:
    """Facts of the list of a two-letter country code in any case; None if there is none."""
    code = code.strip().upper()
    if len(code) != 2:
        return None
    with _quiet():
        found = _class_of(code)
        if found is None:
            return None
        source = found(expand=False)
    aliases = source.get_subdivision_aliases()
    return CountryFacts(
        code,
        tuple((s, tuple(aliases.get(s, ()))) for s in source.subdivisions),
        getattr(source, "start_year", None),
        getattr(source, "end_year", None),
    )


def country_codes() -> tuple[str, ...]:
    """Every two-letter code with a list."""
    with _quiet():
        from holidays import list_supported_countries

        return tuple(sorted(list_supported_countries(include_aliases=False)))


def country_names() -> tuple[str, ...]:
    """The English names of the countries."""
    with _quiet():
        from holidays.registry import COUNTRIES

    return tuple(module.replace("_", " ").title() for module in COUNTRIES)


def code_of_country(name: str) -> str | None:
    """The code of a country by its English name or three-letter code."""
    with _quiet():
        from holidays.registry import COUNTRIES

    wanted = _joined(name)
    for module, (class_name, code, *others) in COUNTRIES.items():
        if wanted in {_joined(known) for known in (module, class_name, *others)}:
            return code
    return None


@lru_cache(maxsize=128)
def country_list(code: str, subdivision: str | None, years: tuple[int, ...]) -> CountryList:
    """Every entry of a country's public holidays in these years.

    `code` and `subdivision` as `country_facts` spells them; years the list does not cover have no
    entries.
    """
    with _quiet():
        languages = _languages(code)
        read = {
            language: tuple(
                _Reading.of(code, subdivision, years, observed, language) for observed in _BOTH
            )
            for language in dict.fromkeys(languages)
        }
    own, english = (read[language] for language in languages)
    translation = _translation(own, english)
    actual = {day: _bare(texts, own[1]) for day, texts in own[1].texts.items()}
    names = frozenset(name for bare in actual.values() for name in bare)
    return CountryList(
        tuple(_entries(own[0], names, own[1].texts, translation)),
        tuple(_entries(own[1], names, own[1].texts, translation)),
    )


_BOTH = (True, False)


class _Reading(Record):
    """The list in one language; `labels` are its wordings of an estimated date."""

    texts: Texts
    labels: tuple[str, ...]

    @classmethod
    def of(
        cls,
        code: str,
        subdivision: str | None,
        years: Sequence[int],
        observed: bool,
        language: str | None,
    ) -> _Reading:
        source = _known_class(code)(
            subdiv=subdivision,
            years=years,
            expand=False,
            observed=observed,
            language=language,
        )
        texts = {
            day: frozenset(text.strip() for text in entry.split(";"))
            for day, entry in source.items()
        }
        return cls(texts, tuple(_labels(source)))

    def without_label(self, text: str) -> tuple[str, bool]:
        """The text without its wording of an estimated date, and whether it had one."""
        for label in self.labels:
            before, _, after = label.partition("%s")
            if text.startswith(before) and text.endswith(after):
                return text.removeprefix(before).removesuffix(after), True
        return text, False


def _labels(source: HolidayBase) -> Iterator[str]:
    for name in ("observed_estimated_label", "estimated_label"):
        label = getattr(source, name, None)
        if isinstance(label, str) and "%s" in label and label != "%s":
            yield source.tr(label)


def _languages(code: str) -> tuple[str | None, str | None]:
    """The list's own language, and the English to be shown (the same where it is English)."""
    source = _known_class(code)(expand=False)
    own: str | None = source.default_language
    if own is None or own.startswith("en"):
        return own, own
    english = sorted(lang for lang in source.supported_languages if lang.startswith("en"))
    return own, ("en_US" if "en_US" in english else next(iter(english), own))


def _entries(
    reading: _Reading, names: frozenset[str], actual: Texts, translation: Mapping[str, str]
) -> Iterator[Entry]:
    for day, texts in sorted(reading.texts.items()):
        for text in sorted(texts):
            name, estimated = reading.without_label(text)
            moved = text not in actual.get(day, ()) and name not in names
            if moved:
                name = max((n for n in names if n in text), key=_length_and_text, default=name)
            shown = translation.get(name, name)
            others = (name,) if shown != name else ()
            yield Entry(day, shown, others, moved, estimated)


def _length_and_text(name: str) -> tuple[int, str]:
    return len(name), name


def _bare(texts: Iterable[str], reading: _Reading) -> frozenset[str]:
    return frozenset(reading.without_label(text)[0] for text in texts)


def _translation(own: Sequence[_Reading], english: Sequence[_Reading]) -> dict[str, str]:
    """English by own name: dates with a single entry first, the others by what is left."""
    pairs = [
        (set(_bare(texts, mine)), set(_bare(theirs.texts.get(day, ()), theirs)))
        for mine, theirs in zip(own, english, strict=True)
        for day, texts in mine.texts.items()
    ]
    found: dict[str, str] = {}
    before = -1
    while len(found) > before:
        before = len(found)
        for names, words in pairs:
            left = names - found.keys()
            free = words - {found[name] for name in names - left}
            if len(left) == 1 and len(free) == 1:
                found[left.pop()] = free.pop()
    return found


def _known_class(code: str) -> type[HolidayBase]:
    found = _class_of(code)
    assert found is not None
    return found


@lru_cache(maxsize=64)
def _class_of(code: str) -> type[HolidayBase] | None:
    """The library's class of a two-letter code, None if there is none."""
    from holidays.registry import COUNTRIES

    module = next((m for m, (_, *codes) in COUNTRIES.items() if code in codes), None)
    if module is None:
        return None
    with _no_other_country():
        found: type[HolidayBase] = getattr(import_module(f"{_COUNTRIES}.{module}"), code)
    return found


_COUNTRIES = "holidays.countries"


@contextmanager
def _no_other_country() -> Iterator[None]:
    """An empty package in place of the library's, which loads every country when it is loaded."""
    spec = None if _COUNTRIES in sys.modules else find_spec(_COUNTRIES)
    if spec is None:
        yield
        return
    sys.modules[_COUNTRIES] = module_from_spec(spec)
    try:
        yield
    finally:
        sys.modules.pop(_COUNTRIES, None)


@contextmanager
def _quiet() -> Iterator[None]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _joined(name: str) -> str:
    return "".join(c for c in name.casefold() if c.isalnum())
