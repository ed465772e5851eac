"""Rule files, and the rules that are built in."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from itertools import zip_longest
from pathlib import Path

from schedcomp.builtin import exists, unknown
from schedcomp.diag import Diagnostic, Source, SourceRange, has_problem, in_order
from schedcomp.filekind import CONTROLLER_KEY, SITE_KEY, other_kind
from schedcomp.limits import LARGEST, Limits
from schedcomp.messages import meaning
from schedcomp.messages import ordinance as messages
from schedcomp.model import Half
from schedcomp.near import quoted
from schedcomp.ordinance.keys import (
    CHANGE,
    EVERY_PART,
    FORMAT_KEY,
    FORMAT_VERSION,
    READ,
    REQUIREMENT,
    SEVERAL,
    SOURCES,
    TOP,
)
from schedcomp.ordinance.lines import (
    EVERY_DAY,
    parse_except_nights,
    parse_grade,
    parse_hours_test,
    parse_season,
    parse_use_line,
    parse_valid,
)
from schedcomp.ordinance.model import Dating, Ordinance, Requirement, TimeBase
from schedcomp.ordinance.open_ends import has_open_end
from schedcomp.ordinance.phrases import parse_rule
from schedcomp.phrases import parse_moment, parse_promise, parse_sun_definition
from schedcomp.phrases.tree import Moment
from schedcomp.reading import Reader
from schedcomp.records import replace
from schedcomp.site import Hours, Site
from schedcomp.sitefile.keys import SERVES
from schedcomp.textfile import LARGEST_BYTES, source_from_bytes
from schedcomp.tomlfile import read_document, read_source
from schedcomp.words import join_and

Findings = tuple[Diagnostic, ...]
Loaded = tuple[Ordinance | None, Findings]

_FOLDER = Path(__file__).parents[1] / "data" / "ordinances"
_SUFFIX = ".toml"
CLAUSE_EXAMPLE = 'clause = "4.2"\nrule = "dark from 23:00 until 06:00"'
LONGEST_CHAIN = 4
"""How many files one behind the other a rule may be based on."""


def builtin_ordinances() -> tuple[str, ...]:
    """Names of the rules that are built in, in alphabetical order."""
    return tuple(sorted(path.stem for path in _FOLDER.glob(f"*{_SUFFIX}")))


def load_ordinances(site: Site) -> tuple[tuple[Ordinance, ...] | None, Findings]:
    """Every rule that a site names; None if one of them cannot be read."""
    made: list[Ordinance] = []
    found: list[Diagnostic] = []
    for name, at in zip_longest(site.ordinances, site.ordinances_at):
        ordinance, more = load_ordinance(name, site.folder, at)
        found += more
        made += [] if ordinance is None else [ordinance]
    complete = len(made) == len(site.ordinances)
    return (tuple(made) if complete else None), tuple(found)


def load_ordinance(
    name_or_path: str, folder: Path | str = ".", at: SourceRange | None = None, depth: int = 0
) -> Loaded:
    """A built-in rule, or that of a file; its path starts at `folder`.

    `at` is where the name stands; `depth` how many files were based on it on the way here.
    """
    if name_or_path in builtin_ordinances():
        data = (_FOLDER / f"{name_or_path}{_SUFFIX}").read_bytes()[: LARGEST_BYTES + 1]
        source, found = source_from_bytes(f"built-in rule {name_or_path}", data)
    else:
        path = Path(folder) / name_or_path
        if not name_or_path.casefold().endswith(_SUFFIX) and not exists(path):
            return None, (
                unknown(messages.UNKNOWN_ORDINANCE, name_or_path, builtin_ordinances(), folder, at),
            )
        source, found = read_source(path, at)
        folder = path.parent
    if source is None:
        return None, found
    return ordinance_from_source(source, name_or_path, folder, depth)


def ordinance_from_source(
    source: Source, name: str = "", folder: Path | str = ".", depth: int = 0
) -> Loaded:
    """As `load_ordinance`, for the text of a file."""
    document, mistakes = read_document(source, f"{FORMAT_KEY} = {FORMAT_VERSION}", SEVERAL)
    if document is None:
        return None, mistakes
    found = list(mistakes)
    for key in (SITE_KEY, CONTROLLER_KEY):
        if other := other_kind(document.root, FORMAT_KEY, key, messages.ORDINANCE_EXPECTED):
            return None, (other,)
    top = Reader(document.root, "the file", TOP, found)
    top.check_version(FORMAT_KEY, FORMAT_VERSION)
    top.check_keys(EVERY_PART)
    top.missing("title", "Findings and the sheet call the rule by it.")
    base = _base(top, folder, depth)
    made = _ordinance(top, name or source.name, base)
    ordered = in_order(found)
    return (None if has_problem(ordered) else made), ordered


def _base(top: Reader, folder: Path | str, depth: int) -> Ordinance | None:
    phrase = top.phrase("based_on")
    if phrase is None or depth >= LONGEST_CHAIN:
        return None
    return top.take(load_ordinance(phrase.text.strip(), folder, phrase.at, depth + 1))


def _ordinance(top: Reader, name: str, base: Ordinance | None) -> Ordinance:
    own = tuple(_requirements(top))
    taken = base.requirements if base else ()
    if not own and not taken and top.lacks("requirement"):
        top.found.append(
            meaning.MISSING_PART.at(
                top.table.at,
                part="[[requirement]]",
                why="Without a clause there is nothing to check.",
                typed=CLAUSE_EXAMPLE,
            )
        )
    made = base or Ordinance(name=name, title="")

    def text(key: str, taken_text: str) -> str:
        return top.blank_or_text(key) if top.given(key) else taken_text

    return replace(
        made,
        name=name,
        title=text("title", made.title),
        note=text("note", made.note),
        authority=text("authority", made.authority),
        text_version=text("text_version", made.text_version),
        read_on=text("read_on", made.read_on),
        entered_by=text("entered_by", made.entered_by),
        source=top.choice("source", SOURCES) or made.source,
        confirmed_by=top.blank_or_text("confirmed_by"),
        dusk=top.parsed("dusk", partial(parse_sun_definition, half=Half.EVENING)) or made.dusk,
        dawn=top.parsed("dawn", partial(parse_sun_definition, half=Half.MORNING)) or made.dawn,
        requirements=(*_changed(top, taken), *own),
        promises=(*made.promises, *top.parsed_all("promise", parse_promise)),
    )


def _requirements(top: Reader) -> Iterable[Requirement]:
    """Every `[[requirement]]` that can be read; their clauses differ."""
    places: dict[str, SourceRange | None] = {}
    for table in top.parts("requirement"):
        reader = Reader(table, "[[requirement]]", REQUIREMENT, top.found)
        made = _requirement(reader)
        if made is None:
            continue
        if made.clause.casefold() in places:
            first = places[made.clause.casefold()]
            also = (("First given", first),) if first is not None else ()
            place = reader.place("clause")
            top.found.append(messages.SAME_CLAUSE.at(place, also=also, clause=quoted(made.clause)))
        places.setdefault(made.clause.casefold(), reader.place("clause"))
        yield made


def _requirement(reader: Reader) -> Requirement | None:
    reader.check_keys(EVERY_PART)
    reader.missing("clause", "Findings name the clause by it.")
    reader.missing("rule", "It is what the clause asks for, in words that can be checked.")
    clause = reader.text("clause")
    rule_phrase = reader.phrase("rule")
    form, mistakes = (None, ()) if rule_phrase is None else parse_rule(rule_phrase)
    reader.found.extend(mistakes)
    season = reader.parsed("dates", parse_season)
    by = reader.choice("by", tuple(d.value for d in Dating))
    time = reader.choice("time", ("legal", "standard", "utc"))
    test = reader.parsed("when", parse_hours_test)
    grades = reader.parsed_all("grades", parse_grade)
    allowed = reader.whole("nights_allowed", Limits(0, 366))
    read = reader.choice("read", READ)
    text = reader.blank_or_text("text")
    if clause is None or form is None or rule_phrase is None:
        return None
    made = Requirement(
        clause=clause,
        text=text,
        rule=" ".join(rule_phrase.text.split()),
        form=form,
        season=season or EVERY_DAY,
        by=Dating(by) if by else Dating.EVENING,
        time=_TIME_BASES[time or "legal"],
        when=test,
        grades=grades,
        nights_allowed=allowed or 0,
        read=read or "text",
        at=reader.place("rule"),
    )
    return _with_choices(made, reader)


_TIME_BASES = {"legal": TimeBase.LEGAL, "standard": TimeBase.STANDARD, "utc": TimeBase.UTC}


def _with_choices(made: Requirement, reader: Reader) -> Requirement:
    """What a site may settle for itself: circuits, exempt ones, an open end, declared nights."""
    use = reader.parsed_all("use", parse_use_line)
    serves = reader.phrases("serves", one_is_enough=True)
    circuits = reader.phrases("circuits", one_is_enough=True)
    until = _end(reader)
    if until is not None and not has_open_end(made.form):
        reader.found.append(
            messages.END_GIVEN.at(
                reader.place("until"), clause=quoted(made.clause), rule=quoted(made.rule, 60)
            )
        )
    return replace(
        made,
        circuits=made.circuits if circuits is None else tuple(p.text.strip() for p in circuits),
        serves=made.serves if serves is None else _serving(reader, serves),
        exempt=(*made.exempt, *_exempt(reader)),
        above_kw=reader.number("above_kw", Limits(0, LARGEST)) or made.above_kw,
        because=reader.blank_or_text("because") or made.because,
        until=until or made.until,
        except_nights=(
            *made.except_nights,
            *reader.parsed_all("except_nights", parse_except_nights),
        ),
        use=Hours(lines=use) if use else made.use,
        valid=reader.parsed("valid", parse_valid) or made.valid,
    )


def _end(reader: Reader) -> Moment | None:
    """The end chosen where the text leaves it open."""
    phrase = reader.phrase("until")
    found, mistakes = (None, ()) if phrase is None else parse_moment(phrase, is_end=True)
    reader.found.extend(mistakes)
    return found


def _serving(reader: Reader, phrases: Iterable[object]) -> tuple[str, ...]:
    """What the circuits serve that the clause is for."""
    found = []
    for phrase in phrases:
        text = str(getattr(phrase, "text", "")).strip().casefold()
        if text in SERVES:
            found.append(text)
            continue
        place = reader.place("serves")
        known = join_and([f'"{word}"' for word in SERVES])
        reader.found.append(
            meaning.NOT_A_CHOICE.at(
                place,
                key="serves",
                found=quoted(text),
                known=known,
                near="",
                typed='serves = ["sign"]',
            )
        )
    return tuple(found)


def _exempt(reader: Reader) -> tuple[tuple[str, str], ...]:
    """Circuits a clause does not hold for, each with its reason."""
    table = reader.group("exempt")
    if table is None:
        return ()
    names = {entry.key: '"public safety"' for entry in table.entries}
    own = Reader(table, "exempt", names, reader.found)
    made = ((entry.key, own.text(entry.key)) for entry in table.entries)
    return tuple((name, because) for name, because in made if because is not None)


def _changed(top: Reader, taken: tuple[Requirement, ...]) -> tuple[Requirement, ...]:
    """The clauses of the rule this one is based on, with the choices of `[[change]]`."""
    by_clause = {made.clause.casefold(): made for made in taken}
    for table in top.parts("change"):
        reader = Reader(table, "[[change]]", CHANGE, top.found)
        reader.check_keys(EVERY_PART)
        reader.missing("clause", "It names the clause that the choice is for.")
        clause = reader.text("clause")
        if clause is None:
            continue
        made = by_clause.get(clause.casefold())
        if made is None:
            known = [f'"{r.clause}"' for r in taken] or ["none"]
            top.found.append(
                meaning.NOT_A_CHOICE.at(
                    reader.place("clause"),
                    key="clause",
                    found=quoted(clause),
                    known=join_and(known),
                    near="",
                    typed=f"clause = {known[0]}",
                )
            )
            continue
        by_clause[clause.casefold()] = _with_choices(made, reader)
    return tuple(by_clause.values())


__all__ = [
    "builtin_ordinances",
    "load_ordinance",
    "load_ordinances",
    "ordinance_from_source",
]
