"""Every key of a rule file, with an example value as one would write it."""

from __future__ import annotations

from types import MappingProxyType

from schedcomp.filekind import ORDINANCE_KEY
from schedcomp.reading import Examples

FORMAT_KEY = ORDINANCE_KEY
FORMAT_VERSION = 1
SEVERAL = ("requirement", "change")

TOP: Examples = MappingProxyType(
    {
        FORMAT_KEY: "1",
        "title": '"Example county dark-hours rule"',
        "note": '"Confirm the current local text with the authority."',
        "source": '"law"',
        "authority": '"the county planning office"',
        "text_version": '"as of 2026-05-01"',
        "read_on": '"2026-11-02"',
        "entered_by": '"the contractor"',
        "confirmed_by": '"the code officer, by letter"',
        "dusk": '"sunset + 30 min"',
        "dawn": '"sunrise - 30 min"',
        "based_on": '"dark-hours-later-of"',
        "promise": '["every day 23:50: dark"]',
        "requirement": "",
        "change": "",
    }
)

CHANGE: Examples = MappingProxyType(
    {
        "clause": '"4.2(b)"',
        "circuits": '["Lot poles"]',
        "serves": '["sign"]',
        "exempt": '{ "Sign" = "public safety" }',
        "above_kw": "0.03",
        "because": '"within 150 m of homes"',
        "until": '"sunrise"',
        "except_nights": '["2027-06-18: club tournament"]',
        "use": '["mon-fri: 18:00-22:00"]',
        "valid": '"2026-07-01 to 2027-06-30"',
    }
)

REQUIREMENT: Examples = MappingProxyType(
    {
        **CHANGE,
        "text": '"dark from 11 pm until 6 am"',
        "rule": '"dark from 23:00 until 06:00"',
        "dates": '"every day"',
        "by": '"evening"',
        "time": '"legal"',
        "when": '"close between 00:00 and 07:00"',
        "grades": '["more than 4 nights a year: serious"]',
        "nights_allowed": "0",
        "read": '"text"',
    }
)

EVERY_PART: MappingProxyType[str, Examples] = MappingProxyType(
    {"[[requirement]]": REQUIREMENT, "the top of the file": TOP}
)

SOURCES = ("law", "permit", "lease", "insurer", "company")
READ = ("text", "summary", "from memory")
