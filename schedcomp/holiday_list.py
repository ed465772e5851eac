"""The holidays of a site: the chosen entries of a country's list, and dates added by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import cached_property, lru_cache

from schedcomp.country_choice import chosen_country, coverage
from schedcomp.country_holidays import (
    CountryFacts,
    CountryList,
    Entry,
    country_list,
    library_version,
)
from schedcomp.date_rules import days_between, named_dates, parts_of, rule_troubles
from schedcomp.diag import Diagnostic, SourceRange, has_problem
from schedcomp.holiday_names import common_key, near_names, plain_key
from schedcomp.messages import calendar as messages
from schedcomp.messages.writing_dates import HALF_NOT_HERE
from schedcomp.model import Period
from schedcomp.phrases.tree import HolidayNamed, Holidays
from schedcomp.records import Record, replace
from schedcomp.site import AddedHoliday, HolidayChoice
from schedcomp.words import counted

MOST_SHOWN = 12
YEARS_TO_LOOK_AROUND = 6
_OBSERVED = "(observed)"

Named = tuple[str, SourceRange | None]
Found = tuple[Diagnostic, ...]


class Holiday(Record, kw_only=True):
    """One holiday on one date.

    `observed`: the date is given instead of the one on which the holiday falls. `estimated`: the
    date was computed and will be announced. `added`: entered by hand in the site file.
    """

    day: date
    name: str
    other_names: tuple[str, ...] = ()
    observed: bool = False
    estimated: bool = False
    added: bool = False

    @property
    def label(self) -> str:
        """The name for people: `Christmas Day (observed)`."""
        text = self.name
        if self.observed:
            text = messages.OBSERVED_LABEL.format(name=text)
        return messages.ESTIMATED_LABEL.format(name=text) if self.estimated else text


class HolidayList(Record, dict=True, kw_only=True):
    """The holidays of the years asked for and their neighbours, by date and name.

    `removed` are the entries of the country's list that the site file keeps out. `source` is the
    code of the list (`US`, `GB-SCT`), "" without a country. `observed` is how the list was read,
    None where it makes no difference. `given`: the site file asks for holidays. `complete`: all
    that it asks for was found.
    """

    holidays: tuple[Holiday, ...] = ()
    removed: tuple[Holiday, ...] = ()
    source: str = ""
    observed: bool | None = None
    given: bool = False
    complete: bool = True
    library_version: str = ""

    @cached_property
    def dates(self) -> frozenset[date]:
        return frozenset(holiday.day for holiday in self.holidays)

    @property
    def names(self) -> tuple[str, ...]:
        """Every name once, in order of its first date."""
        return tuple(dict.fromkeys(h.name for h in self.holidays))

    @property
    def left_out(self) -> tuple[str, ...]:
        """Names of the country's list that the site file keeps out, in order of their dates."""
        kept = set(self.names)
        return tuple(dict.fromkeys(h.name for h in self.removed if h.name not in kept))

    def on(self, day: date) -> tuple[Holiday, ...]:
        return tuple(h for h in self.holidays if h.day == day)

    def within(self, period: Period) -> tuple[Holiday, ...]:
        return tuple(h for h in self.holidays if h.day in period)

    def named(self, name: str, observed: bool = False) -> tuple[Holiday, ...]:
        """The holidays of this name; with `observed` only the dates given instead.

        Names match without case and with other common names. A name that the list uses for dates
        given instead and for nothing else means these.
        """
        wanted, observed_only = _without_observed(name)
        same = _of_name(self.holidays, wanted)
        if observed or observed_only:
            return tuple(h for h in same if h.observed)
        return tuple(h for h in same if not h.observed) or same

    def knows(self, name: str) -> bool:
        return bool(_of_name(self.holidays, _without_observed(name)[0]))

    def left_out_dates(self, name: str) -> tuple[date, ...]:
        """Dates of this name that the site file keeps out."""
        return tuple(h.day for h in _of_name(self.removed, _without_observed(name)[0]))


def holiday_list(
    choice: HolidayChoice | None,
    years: tuple[int, ...],
    period: Period,
    zone_name: str = "",
) -> tuple[HolidayList | None, Found]:
    """The holidays of a site in `years` and the years beside them; `zone_name` is where it lies.

    None only if the site file asks for none. Where a problem is reported the list is what could
    still be found, so that later stages report nothing false.
    """
    if choice is None:
        return None, ()
    listed, found = _known(_without_places(choice), years, period)
    # What is found points at the lines of its own site.
    return (listed, ()) if not found else _made(choice, years, period, zone_name)


def _made(
    choice: HolidayChoice, years: tuple[int, ...], period: Period, zone_name: str = ""
) -> tuple[HolidayList, Found]:
    covered = tuple(sorted({*years, *period.years}))
    listed, found = _listed(choice, covered, period, zone_name)
    added, added_found = _added(choice.added, covered, period)
    holidays = sorted((*listed.holidays, *added), key=lambda h: (h.day, h.name, h.observed))
    return HolidayList(
        holidays=tuple(holidays),
        removed=listed.removed,
        source=listed.source,
        observed=listed.observed,
        given=True,
        complete=listed.complete and not has_problem(added_found),
        library_version=listed.library_version,
    ), (*found, *added_found)


_known = lru_cache(maxsize=32)(_made)
"""Many sites of a run ask for the same holidays."""


def _without_places(choice: HolidayChoice) -> HolidayChoice:
    only, left_out = choice.only, choice.left_out
    return replace(
        choice,
        only=None if only is None else tuple((name, None) for name, _ in only),
        left_out=tuple((name, None) for name, _ in left_out),
    )


def names_for_people(name: str, names: Sequence[str]) -> str:
    """A sentence with the names closest to `name`, or with all there are."""
    near = near_names(name, names)
    if near:
        return messages.NAMES_NEAR.format(names=", ".join(near))
    if not names:
        return messages.NAMES_NONE
    return messages.NAMES_ALL.format(names=_some(names, most=40))


# A country's list


def _listed(
    choice: HolidayChoice, years: tuple[int, ...], period: Period, zone_name: str
) -> tuple[HolidayList, Found]:
    facts, subdivision, found = chosen_country(choice, zone_name)
    if facts is None:
        return HolidayList(complete=not found), found
    around = tuple(range(years[0] - 1, years[-1] + 2))
    entries = country_list(facts.code, subdivision, around)
    source = f"{facts.code}-{subdivision}" if subdivision else facts.code
    if has_problem(found := found + coverage(facts, period.years, choice)):
        return HolidayList(source=source, complete=False), found
    found += _unknown_names(choice, facts, subdivision, entries, years)
    moves = _moves(choice, entries, period)
    if moves and choice.observed is None:
        found += (_not_said(choice, moves, entries),)
    read = entries.without_observed if choice.observed is False else entries.with_observed
    kept = tuple(_holiday(e) for e in read if _chosen(choice, e))
    removed = tuple(_holiday(e) for e in read if not _chosen(choice, e))
    found += _doubts(choice, kept, removed, period, source)
    return HolidayList(
        holidays=kept,
        removed=removed,
        source=source,
        observed=choice.observed,
        library_version=library_version(),
    ), found


def _chosen(choice: HolidayChoice, entry: Entry) -> bool:
    only = choice.only
    kept = only is None or any(_means(name, entry) for name, _ in only)
    return kept and not any(_means(name, entry) for name, _ in choice.left_out)


def _means(name: str, entry: Entry) -> bool:
    wanted, observed_only = _without_observed(name)
    return (entry.observed or not observed_only) and _same_name(wanted, entry, common_key)


def _unknown_names(
    choice: HolidayChoice,
    facts: CountryFacts,
    subdivision: str | None,
    entries: CountryList,
    years: tuple[int, ...],
) -> Found:
    both = (*entries.with_observed, *entries.without_observed)
    found = []
    for (name, at), is_kept in (
        *((n, True) for n in choice.only or ()),
        *((n, False) for n in choice.left_out),
    ):
        wanted, _ = _without_observed(name)
        if any(_same_name(wanted, e, common_key) for e in both):
            continue
        at = at or choice.at
        other = _other_years(wanted, facts, subdivision, years)
        if not other:
            names = names_for_people(wanted, tuple(dict.fromkeys(e.name for e in both)))
            found.append(messages.NOT_IN_LIST.at(at, name=wanted, country=facts.code, names=names))
        elif is_kept:
            dates = _some([messages.date_text(e.day) for e in other])
            found.append(
                messages.NOT_THIS_TIME.at(at, name=wanted, country=facts.code, dates=dates)
            )
    return tuple(found)


def _other_years(
    name: str, facts: CountryFacts, subdivision: str | None, years: tuple[int, ...]
) -> tuple[Entry, ...]:
    """Entries of this name in years further away: some holidays come every fourth year."""
    wide = tuple(range(years[0] - YEARS_TO_LOOK_AROUND, years[-1] + YEARS_TO_LOOK_AROUND + 1))
    entries = country_list(facts.code, subdivision, wide)
    return tuple(e for e in entries.with_observed if _same_name(name, e, common_key))


def _moves(choice: HolidayChoice, entries: CountryList, period: Period) -> tuple[Entry, ...]:
    """Chosen entries of the period that only one way of reading the list has."""
    found = {(e.day, e.name) for e in entries.with_observed} ^ {
        (e.day, e.name) for e in entries.without_observed
    }
    both = dict.fromkeys((*entries.with_observed, *entries.without_observed))
    return tuple(
        sorted(
            (e for e in both if (e.day, e.name) in found and _wanted(choice, e, period)),
            key=lambda e: (e.day, e.name),
        )
    )


def _wanted(choice: HolidayChoice, entry: Entry, period: Period) -> bool:
    return entry.day in period and _chosen(choice, entry)


def _not_said(choice: HolidayChoice, moves: tuple[Entry, ...], entries: CountryList) -> Diagnostic:
    gained = [e for e in moves if e in entries.with_observed]
    lost = [e for e in moves if e not in entries.with_observed]
    changes = [
        text.format(dates=_some([f"{messages.date_text(e.day)} ({e.name})" for e in group]))
        for text, group in ((messages.WITH_OBSERVED, gained), (messages.WITHOUT_OBSERVED, lost))
        if group
    ]
    count = counted(len({e.name for e in moves}), "holiday")
    return messages.OBSERVED_NOT_SAID.at(choice.at, count=count, changes="\n".join(changes))


def _doubts(
    choice: HolidayChoice,
    kept: Sequence[Holiday],
    removed: Sequence[Holiday],
    period: Period,
    source: str,
) -> Found:
    if not any(h.day in period for h in (*kept, *removed)):
        return (messages.EMPTY_LIST.at(choice.at, country=source),)
    estimated = [h for h in kept if h.estimated and h.day in period]
    if not estimated:
        return ()
    dates = _some([f"{messages.date_text(h.day)} ({h.name})" for h in estimated])
    example = f'"{estimated[0].day.isoformat()}: dark"'
    count = counted(len(estimated), "date")
    return (messages.ESTIMATED.at(choice.at, count=count, dates=dates, example=example),)


# Added dates


def _added(
    added: Iterable[AddedHoliday], years: tuple[int, ...], period: Period
) -> tuple[tuple[Holiday, ...], Found]:
    days = days_between(date(years[0] - 1, 1, 1), date(years[-1] + 1, 12, 31))
    holidays: list[Holiday] = []
    found: list[Diagnostic] = []
    for one in added:
        troubles = _added_troubles(one)
        found += troubles
        if has_problem(troubles):
            continue
        named = sorted(named_dates(one.dates.dates, days, lambda _: frozenset()))
        holidays += [Holiday(day=day, name=one.name, added=True) for day in named]
        if not any(day in period for day in named):
            found.append(messages.ADDED_NEVER.at(one.at or one.dates.at, name=one.name))
    return tuple(holidays), tuple(found)


def _added_troubles(one: AddedHoliday) -> Found:
    at = one.at or one.dates.at
    found = list(rule_troubles(one.dates.dates))
    if any(isinstance(p, Holidays | HolidayNamed) for p in parts_of(one.dates.dates)):
        found.append(messages.ADDED_FROM_LIST.at(at, name=one.name))
    if one.dates.half is not None:
        found.append(HALF_NOT_HERE.at(at, found=one.dates.half.value, rest=""))
    return tuple(found)


# Names


def _of_name(holidays: Sequence[Holiday], name: str) -> tuple[Holiday, ...]:
    """Holidays of exactly this name, or else of one that commonly means the same."""
    exact = tuple(h for h in holidays if _same_name(name, h, plain_key))
    return exact or tuple(h for h in holidays if _same_name(name, h, common_key))


def _same_name(name: str, one: Holiday | Entry, key: Callable[[str], str]) -> bool:
    wanted = key(name)
    return any(key(known) == wanted for known in (one.name, *one.other_names))


def _without_observed(name: str) -> tuple[str, bool]:
    """The name without a trailing "(observed)", and whether it had one."""
    bare = name.strip()
    if bare.casefold().endswith(_OBSERVED):
        return bare[: -len(_OBSERVED)].rstrip(), True
    return bare, False


def _holiday(entry: Entry) -> Holiday:
    return Holiday(
        day=entry.day,
        name=entry.name,
        other_names=entry.other_names,
        observed=entry.observed,
        estimated=entry.estimated,
    )


def _some(texts: Sequence[str], most: int = MOST_SHOWN) -> str:
    """At most `most` texts with commas, and how many more there are."""
    shown = ", ".join(texts[:most])
    if len(texts) <= most:
        return shown
    return messages.AND_MORE.format(shown=shown, count=len(texts) - most)
