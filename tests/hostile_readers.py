"""Every reader of what people give, fed with any bytes at all.

A family is a reader with texts it takes and words it knows. `Family.read` must come back with
findings that can be shown, or with a value; whatever else it raises is a fault.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from unittest.mock import patch

from schedcomp import asked, diag, pipeline, sitefile
from schedcomp.answers import controllers, explain, new, ordinances
from schedcomp.answers.answer import Answer
from schedcomp.answers.copy import chosen_units
from schedcomp.behaviour import Location, behaviour_of_program
from schedcomp.controller import Controller
from schedcomp.controllerfile import controller_from_source, load_controller
from schedcomp.coordinates import LATITUDE, LONGITUDE, read_degrees, read_pair
from schedcomp.diag import Diagnostic, PhraseText, Source, SourceRange
from schedcomp.eventsfile import read_events
from schedcomp.fleet.acceptances import accepted_in
from schedcomp.fleet.job import Order
from schedcomp.fleet.onesite import load
from schedcomp.fleet.storelist import read_store_list
from schedcomp.interviewchecks import phrase_of
from schedcomp.keyedlist import read_keyed
from schedcomp.model import Period
from schedcomp.ordinance.load import ordinance_from_source
from schedcomp.output.events import events_csv
from schedcomp.output.special_days import special_days_csv
from schedcomp.output.stick_set import stick_set
from schedcomp.phrases import (
    parse_calendar_line,
    parse_dates,
    parse_duration,
    parse_hours,
    parse_keep_dark,
    parse_moment,
    parse_promise,
    parse_stretch,
    parse_window,
)
from schedcomp.records import Record
from schedcomp.report.night import night_text, nights
from schedcomp.sheet.qr import recovered, site_texts
from schedcomp.sitefile.lamps import parse_lamps
from schedcomp.stickcheck import check_set
from schedcomp.textfile import source_from_bytes
from schedcomp.transferfile import read_transfer
from schedcomp.transferlimits import contradictions
from tests import made_up, transfer_faults
from tests.small_transfer import small, small_bytes, tiny_bytes

Findings = Iterable[Diagnostic]
REPOSITORY = Path(__file__).parents[1]
FORTNIGHT = Period(date(2027, 3, 8), date(2027, 3, 21))
TODAY = date(2027, 6, 1)
NOW = 1796304600
LONGEST_TOLD = 100_000
"""Letters of all findings together; more would flood a terminal."""
MOST_ROWS = 20
"""Of a store list; each is a whole site."""
TEMPLATE = REPOSITORY / "sample_sites/shop_chain/shop.toml"
SEPARATOR = "\n===\n"
"""Between the parts of an input that stands for several texts."""


class Family(Record):
    """A reader; `seeds` are texts it takes, `words` what it knows."""

    read: Callable[[bytes], None]
    seeds: Callable[[], Sequence[bytes]]
    words: str


def shown(findings: Findings) -> None:
    """Every finding can be shown, at a place that is in its file."""
    found = tuple(findings)
    for finding in found:
        for at in (finding.at, *(place for _, place in finding.also)):
            assert at is None or 0 <= at.start <= at.start + at.length <= len(at.source.text) + 1
    text = diag.render(found)
    text.encode()
    assert len(text) < LONGEST_TOLD, len(text)
    assert len(json.dumps(diag.as_records(found))) < 10 * LONGEST_TOLD


def given(answer: Answer) -> None:
    """An answer that can be given."""
    shown(answer.findings)
    answer.text.encode(errors="replace")
    json.dumps(answer.record)
    assert answer.exit_code in (0, 1, 2, 3)


@cache
def folder() -> Path:
    """An empty folder; nothing may ever be written into it."""
    return Path(mkdtemp(prefix="hostile-"))


def nothing_written() -> None:
    assert not list(folder().iterdir())


# Files


def read_site(data: bytes) -> None:
    source, found = source_from_bytes("site.toml", data)
    if source is not None:
        _, found = sitefile.site_from_source(source, str(folder()))
    shown(found)


def read_site_and_year(data: bytes) -> None:
    source, found = source_from_bytes("site.toml", data)
    if source is None:
        return
    site, found = sitefile.site_from_source(source, str(folder()))
    if site is None:
        return
    read, found = pipeline.read_year(site, FORTNIGHT)
    shown(found)
    if read is not None:
        world, year = read
        night_text(world.zone, nights(site, world, year, FORTNIGHT.first, 14))


def read_controller(data: bytes) -> None:
    source, found = source_from_bytes("controller.toml", data)
    if source is not None:
        _, found = controller_from_source(source)
    shown(found)


def read_ordinance(data: bytes) -> None:
    source, found = source_from_bytes("rule.toml", data)
    if source is not None:
        _, found = ordinance_from_source(source, "rule.toml", folder())
    shown(found)


def read_transfer_file(data: bytes) -> None:
    """As it is, and with the seal that belongs to it, so that what is sealed is looked at."""
    _transfer(data)
    try:
        document = json.loads(data)
        _transfer(transfer_faults.sealed(document))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return


def _transfer(data: bytes) -> None:
    transfer, found = read_transfer(data, "transfer.json")
    shown(found)
    if transfer is None or contradictions(transfer):
        return
    shown(chosen_units(transfer, [unit.label for unit in transfer.units])[1])
    stick_set(transfer, data, {}, transfer.units, "")
    place = Location(transfer.latitude_degrees, transfer.longitude_degrees, transfer.zone_name)
    if (transfer.period.last - transfer.period.first).days < 30:
        behaviour_of_program(transfer.program, transfer.controller, place, transfer.period)


def read_events_files(data: bytes) -> None:
    parts = data.split(SEPARATOR.encode(), 1)
    special = parts[1] if len(parts) > 1 else None
    shown(read_events(parts[0], "events.csv", special, made_up.CONTROLLER)[1])


def read_keyed_list(data: bytes) -> None:
    source, found = source_from_bytes("list.txt", data)
    if source is not None:
        for controller in controllers_of_lists():
            _, found = read_keyed(source, controller, (1, 2))
            shown(found)
    else:
        shown(found)


@cache
def controllers_of_lists() -> tuple[Controller, ...]:
    yearly, _ = load_controller("sun-yearly-64")
    weekly, _ = load_controller("clock-weekly-28")
    assert yearly
    assert weekly
    return yearly, weekly


def read_stick(data: bytes) -> None:
    """A stick whose parts are: the pointer, then a manifest, then a transfer file."""
    pointer, manifest, transfer = [*data.split(SEPARATOR.encode(), 2), b"", b""][:3]
    with_set = Path(mkdtemp(prefix="hostile-stick-"))
    name = with_set / "7F3A-92C1"
    name.mkdir()
    for path, content in (
        (with_set / "use-this.txt", pointer),
        (name / "manifest.json", manifest),
        (name / "transfer.json", transfer),
    ):
        path.write_bytes(content)
    try:
        shown(check_set(with_set)[1])
    finally:
        for path in sorted(with_set.rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
        with_set.rmdir()


def read_store(data: bytes) -> None:
    """A store list, then an hours file that its rows may name; for the template of a sample."""
    listed, hours = [*data.split(SEPARATOR.encode(), 1), b""][:2]
    with TemporaryDirectory(prefix="hostile-list-") as name:
        place = Path(name)
        path = place / "stores.csv"
        path.write_bytes(listed)
        (place / "late.toml").write_bytes(hours)
        jobs, found = read_store_list(path, str(TEMPLATE))
        shown(found)
        order = Order(period=FORTNIGHT, out=str(place / "out"), made_on=TODAY)
        for job in (jobs or ())[:MOST_ROWS]:
            shown(job.problems)
            shown(accepted_in(job)[1])
            if not job.problems:
                shown(load(order, job)[2])
        assert {entry.name for entry in place.iterdir()} == {"stores.csv", "late.toml"}


# Phrases


def read_phrases(data: bytes) -> None:
    """One text with every reader of phrases."""
    text = data.decode("utf-8", errors="surrogateescape")
    phrase = phrase_of(text)
    escaped = PhraseText(text, SourceRange(Source("site.toml", 'x = "?"'), 4, 3))
    for given_phrase in (phrase, escaped):
        for read in PHRASES:
            found = read(given_phrase)[1]
            if not any("\ud800" <= c <= "\udfff" for c in text):
                shown(found)


PHRASES: tuple[Callable[[PhraseText], tuple[object, Findings]], ...] = (
    parse_calendar_line,
    lambda phrase: parse_dates(phrase, halves_allowed=True),
    lambda phrase: parse_dates(phrase, halves_allowed=False),
    parse_duration,
    parse_hours,
    parse_keep_dark,
    parse_moment,
    lambda phrase: parse_moment(phrase, is_end=True),
    parse_promise,
    parse_stretch,
    parse_window,
    parse_lamps,
    lambda phrase: read_degrees(phrase, LATITUDE),
    lambda phrase: read_degrees(phrase, LONGITUDE),
    read_pair,
)


# What is typed


def read_typed(data: bytes) -> None:
    """One text as every argument that does not need a site file, as the computer hands it over."""
    text = data.decode("utf-8", errors="surrogateescape")
    for _, found in (
        asked.read_period(text, None, None, TODAY),
        asked.read_period(None, text, text, TODAY),
        asked.read_years(text, TODAY),
        asked.read_moment(text, TODAY),
        asked.read_nights(text),
        chosen_units(small(), [text]),
    ):
        for finding in found:
            diag.render_one(finding).encode(errors="replace")
    for answer in (
        explain.explain(text),
        controllers.controllers(text),
        ordinances.ordinances(text, None, NOW),
    ):
        diag.render(answer.findings).encode(errors="replace")
        assert answer.exit_code in (0, 2, 3)
    recovered(text.split("\n"))
    nothing_written()


def read_interview(data: bytes) -> None:
    """Lines as answers of a site walk; a file would be written, but is not."""
    lines = data.decode("utf-8", errors="surrogateescape").split("\n")
    typed = iter(lines)
    options = tuple(line for line in lines if "=" in line)
    with (
        patch.object(new, "_write"),
        patch.object(new, "build", return_value=Answer(exit_code=0)),
    ):
        for request, ask in (
            (new.NewRequest(answers=options, usual=True), None),
            (new.NewRequest(), lambda _: next(typed, None)),
        ):
            answer = new.new(request, ask or (lambda _: None), NOW)
            diag.render(answer.findings).encode(errors="replace")
            assert answer.exit_code in (0, 2, 3)


# Seeds


def files_of(*patterns: str) -> list[bytes]:
    return [path.read_bytes() for p in patterns for path in sorted(REPOSITORY.glob(p))]


def phrase_seeds() -> list[bytes]:
    texts = [
        "fri, sat evenings except holidays: late",
        "every day: from 00:30 until 04:15",
        "2027-12-25 20:00: dark",
        "on from dusk until the later of leave and 21:00",
        "the earlier of sunset + 1 h 30 min and 23:00",
        "second sunday in march to first sunday in november",
        "every 2 weeks from 2027-01-08",
        "2027-06-18 21:00 until 2027-06-19 00:30",
        "day before holidays, nov 20 to jan 6",
        "easter - 2, last fri in nov",
        "08:00-12:00, 14:00-18:00",
        "17:00-02:00",
        "sun 6 deg below horizon",
        "40 35 07 N",
        "40° 35' 07.5\" N, 105° 05' 04\" W",
        "-105.0844",
        "40 x 160 W",
        "11:30 pm",
    ]
    return [text.encode() for text in texts]


def typed_seeds() -> list[bytes]:
    texts = [
        "2027",
        "2027-2031",
        "2027-03-14 02:30",
        "14.3.2027",
        "366",
        "E104",
        "sun-yearly-64",
        "us-ca-dark-from-11-pm",
        "Panel A",
        "\n".join(site_texts('schedcomp = 1\n[site]\nname = "Lot"\n')),
    ]
    return [text.encode() for text in texts]


def interview_seeds() -> list[bytes]:
    walk = (
        "North lot\n40.5853 N, 105.0844 W\nAmerica/Denver\nPanel A\ndock\nLot poles; Sign\n"
        "40 x 160 W\npeople\nnone\n0\nnone on this circuit\n2.1 kW\nsign\nseries\n60\nunknown\n"
        "07:00-20:00\n08:00-21:30\nclosed\n40 min\n45 min\n22:00\n05:30\nnone\nUS\nusual\nclosed\n"
    )
    options = "name=North lot\nplace=40.5853 N, 105.0844 W\nzone=America/Denver\n1 lamps=3 kW\n"
    return [walk.encode(), (options + "mon-fri=08:00-18:00\noff=23:00\n").encode()]


def stick_seeds() -> list[bytes]:
    transfer = small_bytes()
    made = stick_set(small(), transfer, {}, (), "")
    parts = (b"folder: 7F3A-92C1\n\nUse it.\n", made.files["manifest.json"], transfer)
    return [SEPARATOR.encode().join(parts)]


def keyed_seeds() -> list[bytes]:
    return [
        b"1 ON sunset+15 daily\n2 OFF 23:00 mon-fri from 11-20 through 01-06\n",
        b"3 ON 05:30 mon wed plan A channel 1 2\nspecial 1 12-24 through 12-26 off\n4 empty\n",
    ]


def store_seeds() -> list[bytes]:
    listed, hours = files_of("sample_sites/shop_chain/shops.csv", "sample_sites/shop_chain/late.*")
    accepting = (
        b"site id;rule;accept;because;site.tolerance;hours.sun;units\n"
        b'7;us-ca-dark-from-11-pm;"11 pm; 4.2(b)";"variance; """;"5 min";closed;"A; B"\n'
    )
    return [listed + SEPARATOR.encode() + hours, accepting]


def events_seeds() -> list[bytes]:
    circuits = made_up.SITE.circuits
    events = events_csv(made_up.SPECIAL_PROGRAM, circuits)
    special = special_days_csv(made_up.SPECIAL_PROGRAM, circuits)
    return [events, events + SEPARATOR.encode() + special]


SITES = ("sample_sites/*.toml", "sample_sites/with_rule/*.toml")
SITE_WORDS = (
    "schedcomp [site] [[circuit]] [hours] [day_types] [[one_off]] [[unit]] name latitude calendar "
    "promise keep_dark holidays country add only observed every day: usual dusk dawn until from "
    "nan inf -inf 1e999 0x7fffffff 99999999999999999999 \"\"\" ''' [[ ]] {{ }} \\u0000 \\ud800 "
    "1979-05-27T07:32:00Z 2027-02-29 24:00 25:00 sunset+ the later of and except easter controller "
    "ordinance ../../etc/passwd /dev/zero CON timezone America/Denver ../UTC price_per_kwh 85.0001 "
    "lamps load_kw channel egress shortest_on hour_min"
)

FAMILIES = {
    "site": Family(read_site, lambda: files_of(*SITES), SITE_WORDS),
    "site and year": Family(read_site_and_year, lambda: files_of(SITES[0]), SITE_WORDS),
    "controller": Family(
        read_controller,
        lambda: files_of("schedcomp/data/controllers/*.toml"),
        "event_slots channels starts_at clock sunset any set single days or all nan inf -1 1e9 "
        "exceptions plans plan_events weekdays sun_error_minutes 0 99999999999 [[ ]] { }",
    ),
    "ordinance": Family(
        read_ordinance,
        lambda: files_of("schedcomp/data/ordinances/*.toml"),
        "based_on [[requirement]] dark from until close open not checkable at most % of kW lumens "
        "except_nights when by dates valid exempt use grades nan ../rule.toml dark at least 6 h",
    ),
    "transfer": Family(
        read_transfer_file,
        lambda: [transfer_faults.SAMPLE, small_bytes(), tiny_bytes()],
        'null true 1e999 NaN -0 "" [] {} 99999999999999999999 \\ud800 9999-12-31 24:00 "sunset" '
        "1.5 [[[[[[[[[[ -1 events exceptions",
    ),
    "events": Family(
        read_events_files,
        events_seeds,
        '"" , \r\n clock sunset mon tue 24:00 23:59 02-30 2027-01-01 9999999 - " on off \x00',
    ),
    "keyed list": Family(
        read_keyed_list,
        keyed_seeds,
        "ON OFF daily special plan empty channel channels from through sunset + - ² 999999 1e9 #",
    ),
    "store list": Family(
        read_store,
        store_seeds,
        "site id name coordinates zone hours file controller rule template units accept because "
        ', ; " "" \t \r\n circuit. site. hours. people. late.toml ../../etc/passwd /dev/zero nan',
    ),
    "stick": Family(
        read_stick, stick_seeds, 'folder: ../ "name" "files" null -1 1e99 CON / \\ 7F3A-92C1-999999'
    ),
    "phrases": Family(
        read_phrases,
        phrase_seeds,
        "every day evenings mornings except and the later of earlier dusk dawn sunrise sunset open "
        "close arrive leave until from to + - h min ² ٣ 24:00 99:99 in of holiday easter jan feb "
        "2027-02-29 99999999999 1e999 nan ° ' \" N S E W x kW W ( ) , ; :",
    ),
    "typed": Family(
        read_typed,
        typed_seeds,
        "2027 ² ٣ - T : SC1A1 SC1A2 SC2A2 .. / \\ CON NUL ~ $HOME %s {} {0} \x00 E E901 0000-00-00",
    ),
    "interview": Family(
        read_interview,
        interview_seeds,
        "name= place= zone= 1 lamps= mon-fri= replace=yes usual = ; none closed unknown ../x C:\\x",
    ),
}


# Changing a text


def changed(data: bytes, chance: random.Random, words: Sequence[bytes]) -> bytes:
    """The text with one to four things done to it."""
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(data) + 1)
        end = min(len(data), place + chance.choice((1, 1, 4, 16, 64)))
        way = chance.randrange(8)
        if way == 0:
            data = data[:place] + data[end:]
        elif way == 1:
            data = data[:place] + chance.choice(words) + data[place:]
        elif way == 2:
            data = data[:place] + chance.choice(words) + data[end:]
        elif way == 3:
            data = data[:place] + bytes([chance.randrange(256)]) + data[end:]
        elif way == 4:
            data = data[:end] + data[place:end] * chance.choice((1, 2, 30)) + data[end:]
        elif way == 5:
            other = chance.randrange(len(data) + 1)
            data = data[:place] + data[other : other + end - place] + data[end:]
        elif way == 6:
            lines = data.split(b"\n")
            first, second = chance.randrange(len(lines)), chance.randrange(len(lines))
            lines[first], lines[second] = lines[second], lines[first]
            data = b"\n".join(lines)
        else:
            data = data[:place] + chance.choice(STRANGE) + data[place:]
    return data


STRANGE = (
    b"\x00",
    b"\xff",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\r",
    b"\r\n",
    "\u202e".encode(),
    "\u2028".encode(),
    "💡".encode(),
    "e\u0301".encode(),
    b"\xed\xa0\x80",
    b"9" * 5000,
    b"[" * 3000,
    b"{a=" * 1000,
    b"a." * 1000,
    b'"',
    b"'" * 3,
    b"\\",
)
