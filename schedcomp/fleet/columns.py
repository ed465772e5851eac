"""The columns of a store list: what each one sets in a site file."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.fleet.cells import Cell
from schedcomp.messages import fleet as messages
from schedcomp.near import near_words, quoted
from schedcomp.records import Record
from schedcomp.sitefile.keys import CIRCUIT, HOLIDAYS, PAPER, PEOPLE, SITE, UNIT
from schedcomp.words import join_and, join_or

SITE_ID, TEMPLATE, HOURS_FILE, COORDINATES, UNITS, ACCEPT, BECAUSE = (
    "site id",
    "template",
    "hours file",
    "coordinates",
    "units",
    "accept",
    "because",
)

Path = tuple[str, ...]
"""Where a value goes: `site`, `latitude`; `circuit`, the circuit's name or "", `load_kw`."""

SHORT: MappingProxyType[str, Path] = MappingProxyType(
    {
        SITE_ID: (SITE_ID,),
        "name": ("site", "name"),
        COORDINATES: (COORDINATES,),
        "latitude": ("site", "latitude"),
        "longitude": ("site", "longitude"),
        "zone": ("site", "timezone"),
        HOURS_FILE: (HOURS_FILE,),
        "controller": ("site", "controller"),
        "rule": ("site", "ordinance"),
        TEMPLATE: (TEMPLATE,),
        UNITS: (UNITS,),
        ACCEPT: (ACCEPT,),
        BECAUSE: (BECAUSE,),
    }
)
_PLACE: tuple[Path, ...] = (("site", "latitude"), ("site", "longitude"))
_NAMED = MappingProxyType({"circuit": CIRCUIT, "unit": UNIT})
_SINGLE = MappingProxyType({"site": SITE, "people": PEOPLE, "paper": PAPER})
_FREE = ("hours", "day_types")
"""Parts whose keys are the user's own."""


class Column(Record):
    title: str
    path: Path


def read_columns(
    header: Sequence[Cell], source: Source
) -> tuple[tuple[Column | None, ...], tuple[Diagnostic, ...]]:
    """What each column of the first line sets; None for one without a title.

    Findings tell titles that are not known, and two columns for one thing.
    """
    found: list[Diagnostic] = []
    columns: list[Column | None] = []
    set_by: dict[Path, str] = {}
    for cell in header:
        path = path_of(cell.text) if cell.text else None
        columns.append(None if path is None else Column(cell.text, path))
        at = SourceRange(source, cell.start, cell.length)
        if path is None:
            found += [_unknown(cell.text, at)] if cell.text else []
            continue
        for thing in _PLACE if path == (COORDINATES,) else (path,):
            if thing in set_by:
                first = set_by[thing]
                found.append(
                    messages.TWO_COLUMNS.at(
                        at, first=quoted(first), second=quoted(cell.text), typed=_typed(first)
                    )
                )
                break
            set_by[thing] = cell.text
    return tuple(columns), tuple(found)


def path_of(title: str) -> Path | None:
    """What a title names, None if nothing; capitals count only in names of the user's own."""
    plain = title.strip().casefold().replace("_", " ").replace("-", " ")
    if " ".join(plain.split()) in SHORT:
        return SHORT[" ".join(plain.split())]
    word = title.strip()
    if word.casefold() in SITE:
        return ("site", word.casefold())
    part, dot, rest = word.partition(".")
    part = part.strip().casefold()
    if not dot or not rest.strip():
        return None
    if part in _FREE:
        return (part, rest.strip())
    if part in _SINGLE:
        return _of_single(part, rest.strip().casefold())
    if part in _NAMED:
        name, _, key = rest.rpartition(".")
        key = key.strip().casefold()
        return (part, name.strip(), key) if key in _NAMED[part] else None
    return _of_single("site", word.casefold())


def _of_single(part: str, rest: str) -> Path | None:
    group, dot, key = rest.partition(".")
    if part == "site" and group == "holidays" and dot:
        return ("site", "holidays", key) if key in HOLIDAYS else None
    return (part, rest) if rest in _SINGLE[part] else None


def _unknown(title: str, at: SourceRange) -> Diagnostic:
    """The nearest columns, also in the part where a bare key of a circuit belongs."""
    keys = [f"{part}.{key}" for part, known in (*_SINGLE.items(), *_NAMED.items()) for key in known]
    names = [*SHORT, *SITE, *keys]
    asked = title.strip().casefold()
    near = [name for name in keys if name.partition(".")[2] == asked]
    near += near_words(asked.replace("_", " "), SHORT) or near_words(asked, names)
    near += [f"circuit.{key}" for key in near_words(asked, CIRCUIT)] if not near else []
    near = list(dict.fromkeys(near))[:4]
    if near:
        return messages.NEAR_COLUMN.at(
            at, found=quoted(title), near=join_or([quoted(n) for n in near]), typed=_typed(near[0])
        )
    known = join_and([*SHORT])
    return messages.UNKNOWN_COLUMN.at(at, found=quoted(title), known=known)


def _typed(title: str) -> str:
    return f'"{title}"' if set(title) & set(',;"') else title
