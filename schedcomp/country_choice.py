"""Which country's list a site asks for, and whether there is one for its years."""

from __future__ import annotations

from schedcomp.clock import country_of_zone
from schedcomp.country_holidays import (
    CountryFacts,
    code_of_country,
    country_codes,
    country_facts,
    country_names,
)
from schedcomp.diag import Diagnostic, SourceRange
from schedcomp.holiday_names import near_names
from schedcomp.messages import calendar as messages
from schedcomp.site import HolidayChoice

Found = tuple[Diagnostic, ...]


_LONGEST_CODE = 3
USUAL_COUNTRY = "US"
"""Proposed where nothing tells in which country a site lies."""


def country_of(zone_name: str) -> str:
    """The code of the country of a time zone; a usual one where that has no holiday list."""
    code = country_of_zone(zone_name)
    return code if country_facts(code) is not None else USUAL_COUNTRY


def chosen_country(
    choice: HolidayChoice, zone_name: str
) -> tuple[CountryFacts | None, str | None, Found]:
    """The country and the code of its part; None without a country or where it is unknown.

    `zone_name` is the zone in which the site lies.
    """
    if choice.country is None:
        keys = (
            ("subdivision", choice.subdivision is not None),
            ("only", choice.only is not None),
            ("except", bool(choice.left_out)),
        )
        return (
            None,
            None,
            tuple(
                messages.CHOICE_WITHOUT_COUNTRY.at(choice.at, key=key) for key, used in keys if used
            ),
        )
    facts = country_facts(choice.country)
    if facts is None:
        return None, None, (_unknown_country(choice.country, zone_name, choice.at),)
    if choice.subdivision is None:
        return facts, None, ()
    subdivision = facts.subdivision(choice.subdivision)
    if subdivision is not None:
        return facts, subdivision, ()
    return None, None, (_unknown_subdivision(choice.subdivision, facts, choice.at),)


def _unknown_subdivision(written: str, facts: CountryFacts, at: SourceRange | None) -> Diagnostic:
    codes = [code for code, _ in facts.subdivisions]
    example = f'country = "{facts.code}"'
    if codes:
        names = {name: code for code, names in facts.subdivisions for name in (code, *names)}
        near = [names[name] for name in near_names(written, names)]
        example = f'subdivision = "{(near or codes)[0]}"'
    return messages.UNKNOWN_SUBDIVISION.at(
        at,
        found=written,
        country=facts.code,
        codes=", ".join(codes) or messages.NO_PARTS,
        example=example,
    )


def meant_country(written: str) -> tuple[str, str | None]:
    """A country by its name or three-letter code, or the nearest name, with its two-letter code;
    None if none is near.
    """
    code = code_of_country(written)
    if code is None and len(written.strip()) > _LONGEST_CODE:
        for name in near_names(written, country_names())[:1]:
            return name, code_of_country(name)
    return written, code


def _unknown_country(written: str, zone_name: str, at: SourceRange | None) -> Diagnostic:
    name, meant = meant_country(written)
    letter = written.strip()[:1].upper()
    same_letter = [code for code in country_codes() if code[0] == letter]
    if meant:
        near = messages.CODE_MEANT.format(name=name, code=meant)
    elif same_letter:
        near = messages.CODES_SAME_LETTER.format(letter=letter, codes=", ".join(same_letter))
    else:
        near = messages.CODES_SOME
    return messages.UNKNOWN_COUNTRY.at(
        at, found=written, near=near, example=meant or country_of(zone_name)
    )


def coverage(facts: CountryFacts, years: tuple[int, ...], choice: HolidayChoice) -> Found:
    """A problem where the list does not reach over all of the years."""
    first, last = facts.first_year, facts.last_year
    missing = [y for y in years if (first and y < first) or (last and y > last)]
    if not missing:
        return ()
    covered = messages.THROUGH_YEAR if last else messages.FROM_YEAR
    return (
        messages.LIST_ENDS.at(
            choice.at,
            country=facts.code,
            years=", ".join(map(str, missing)),
            covered=covered.format(first=first, last=last),
        ),
    )
