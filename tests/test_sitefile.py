"""Site files: what they mean, and what is said about their mistakes."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from schedcomp.clock import zone
from schedcomp.coordinates import LATITUDE, LONGITUDE, Axis, read_degrees, read_pair
from schedcomp.diag import (
    Diagnostic,
    PhraseText,
    Severity,
    Source,
    SourceRange,
    has_problem,
    in_order,
    render,
)
from schedcomp.model import Half
from schedcomp.phrases.tree import SunDefinition, SunWord
from schedcomp.places import zones_at
from schedcomp.site import Assumption, Confirmation, FitWishes, PanelFacts, Site
from schedcomp.sitefile import load_site, site_from_source
from schedcomp.sitefile.lamps import parse_lamps

SAMPLE = """\
schedcomp = 1                                  # file format version

[site]
name       = "Sample Garden Store, north lot"
latitude   = 40.5853                           # degrees, north positive
longitude  = -105.0844                         # degrees, east positive
timezone   = "America/Denver"
holidays   = { country = "US", only = ["Thanksgiving", "Christmas Day"], observed = false }
dusk       = "sunset + 15 min"
dawn       = "sunrise - 15 min"
controller = "sun-yearly-64"
ordinance  = "dark_hours.toml"
price_per_kwh = 0.14
currency   = "USD"

[hours]
mon-fri  = "07:00-20:00"
sat      = "08:00-21:30"
sun      = "closed"
holidays = "closed"
"dec 24" = "08:00-14:00"
staff_before = "40 min"
staff_after  = "45 min"

[day_types]
usual = ["on from dusk until the later of leave and 21:00", "on from arrive until dawn"]
late  = ["on from dusk until the later of 22:45 and leave"]

[[circuit]]
name      = "Lot poles"
channel   = 1
lamps     = "40 x 160 W"
serves    = "people"
egress    = "separate, always on: panel E, breaker 3"
photocell = "none"
override_minutes = 0
shortest_on  = "10 min"
shortest_off = "15 min"
keep_dark = ["every day: from 00:30 until 04:15"]
calendar = [
  "every day: usual",
  "fri, sat evenings: late",
  "nov 20 to jan 6 evenings: late",
  "holidays: dark",
  "2027-07-04 evenings: late",
]
promise = [
  "fri 2027-12-03 06:30: lit",
  "2027-12-25 20:00: dark",
  "every day 23:50: dark",
]

[[one_off]]
circuit = "Lot poles"
lit  = "2027-06-18 21:00 until 2027-06-19 00:30"
because = "summer sale"

[[unit]]
label = "Panel A"
where = "dock, north wall"
"""

SMALL = """\
schedcomp = 1
[site]
name = "Lot"
latitude = 40.5853
longitude = -105.0844
[day_types]
usual = ["on from dusk until 23:00"]
[[circuit]]
name = "Poles"
channel = 1
calendar = ["every day: usual"]
"""


def changed(old: str, new: str, text: str = SAMPLE) -> str:
    assert old in text
    return text.replace(old, new, 1)


def findings(text: str) -> tuple[Diagnostic, ...]:
    return site_from_source(Source("site.toml", text))[1]


def site(text: str) -> Site:
    made, found = site_from_source(Source("site.toml", text))
    assert made is not None, render(found)
    return made


def codes(text: str) -> list[str]:
    return [finding.code for finding in findings(text)]


# What a file means


def test_the_sample_is_read_whole() -> None:
    made, found = site_from_source(Source("site.toml", SAMPLE), "folder")
    assert found == ()
    assert made is not None
    assert (made.name, made.timezone, made.timezone_given, made.folder) == (
        "Sample Garden Store, north lot", "America/Denver", True, "folder"
    )  # fmt: skip
    assert (made.latitude_degrees, made.longitude_degrees) == (40.5853, -105.0844)
    assert made.dusk == SunDefinition(SunWord.SUNSET, 15)
    assert made.dawn == SunDefinition(SunWord.SUNRISE, -15)
    assert made.holidays is not None
    assert (made.holidays.country, made.holidays.observed) == ("US", False)
    assert [name for name, _ in made.holidays.only or ()] == ["Thanksgiving", "Christmas Day"]
    assert made.hours is not None
    assert [line.text for line in made.hours.lines] == [
        "07:00-20:00", "08:00-21:30", "closed", "closed", "08:00-14:00"
    ]  # fmt: skip
    assert (made.hours.staff_before_minutes, made.hours.staff_after_minutes) == (40, 45)
    assert [(t.name, len(t.windows)) for t in made.day_types] == [("usual", 2), ("late", 1)]
    assert (made.ordinances, made.controller) == (("dark_hours.toml",), "sun-yearly-64")
    assert (made.price_per_kwh, made.currency, made.fit) == (0.14, "USD", FitWishes())
    assert [unit.label for unit in made.units] == ["Panel A"]
    assert made.assumed == (
        Assumption(topic="horizon", text="level: no hills or buildings hide the sun"),
    )


def test_the_circuit_of_the_sample() -> None:
    made = site(SAMPLE)
    (circuit,) = made.circuits
    assert (circuit.name, circuit.channel, circuit.load_kw) == ("Lot poles", 1, 6.4)
    assert (circuit.serves, circuit.photocell, circuit.override_minutes) == ("people", "none", 0)
    assert circuit.egress == "separate, always on: panel E, breaker 3"
    assert (circuit.shortest_on_seconds, circuit.shortest_off_seconds) == (600, 900)
    assert [line.day_type for line in circuit.calendar] == [
        "usual", "late", "late", "dark", "late"
    ]  # fmt: skip
    assert circuit.calendar[1].dates.half is Half.EVENING
    assert [promise.lit for promise in circuit.promises] == [True, False, False]
    assert len(circuit.keep_dark) == 1
    assert circuit.at is not None
    assert circuit.at.text == '"Lot poles"'
    (one_off,) = made.one_offs
    assert (one_off.circuit, one_off.lit, one_off.because) == ("Lot poles", True, "summer sale")
    assert one_off.stretch.end.day == date(2027, 6, 19)


def test_what_is_taken_without_being_told_is_listed() -> None:
    made = site(SMALL)
    assert [(a.topic, a.text) for a in made.assumed] == [
        ("time zone", "America/Denver, looked up from the coordinates"),
        ("dusk", "sunset + 15 min"),
        ("dawn", "sunrise - 15 min"),
        ("horizon", "level: no hills or buildings hide the sun"),
        ("holidays", "no holiday list: no date is a holiday"),
        ("photocell", "none for Poles"),
        ("override", "0 minutes for Poles"),
    ]
    assert (made.timezone, made.timezone_given) == ("America/Denver", False)
    assert (made.circuits[0].photocell, made.circuits[0].override_minutes) == (None, None)


def test_optional_keys() -> None:
    made = site(
        changed(
            "[day_types]",
            """\
timezone = "US/Mountain"
ordinance = ["a.toml", "b.toml"]
tolerance = "3 min"
tolerance_limit = "12 min"
favour = "Dark"
spare = "none"
holidays = { add = { "Store birthday" = "2027-09-03" }, except = ["Columbus Day"] }
[people]
owner = "the owner"
call = ""
[paper]
revision = "B"
[[unit]]
label = "Panel A"
unit_location = "40.59 N, 105.08 W"
[[unit]]
label = "Panel B"
unit_location = [40.5, -105]
[[unit]]
label = "Panel C"
unit_location = { latitude = 40, longitude = -105.1 }
serial = "0042"
confirmed = "Signed test page,  2027-03-12, 7f3a-92c1"
[day_types]""",
            SMALL,
        )
        + """\
photocell = "in each lamp head"
tolerance = "5 min"
load_kw = 1
volts = 277
phases = 3
power_factor = 0.95
selector = "hand-off-auto"
contactor = "latched"
"""
    )
    assert made.timezone == "US/Mountain"
    assert made.ordinances == ("a.toml", "b.toml")
    assert made.fit == FitWishes(
        favour="dark", tolerance_minutes=3, tolerance_limit_minutes=12, spare="none"
    )
    assert made.holidays is not None
    assert [added.name for added in made.holidays.added] == ["Store birthday"]
    assert [name for name, _ in made.holidays.left_out] == ["Columbus Day"]
    assert (made.people.owner, made.people.call, made.paper.revision) == ("the owner", "", "B")
    assert [unit.confirmed for unit in made.units] == [
        None,
        None,
        Confirmation(how="signed test page", day=date(2027, 3, 12), program_code="7F3A-92C1"),
    ]
    assert [unit.location_degrees for unit in made.units] == [
        (40.59, -105.08), (40.5, -105.0), (40.0, -105.1)
    ]  # fmt: skip
    (circuit,) = made.circuits
    assert (circuit.photocell, circuit.tolerance_minutes, circuit.load_kw) == ("series", 5, 1.0)
    assert circuit.panel == PanelFacts(
        volts=277.0, phases=3, power_factor=0.95, selector="hand-off-auto", contactor="latched"
    )


@pytest.mark.parametrize("text", [SAMPLE, SAMPLE.replace("\n", "\r\n"), "\ufeff" + SAMPLE])
def test_a_file_is_the_same_with_any_line_ends_and_mark(tmp_path: Path, text: str) -> None:
    path = tmp_path / "site.toml"
    path.write_bytes(text.encode())
    made, found = load_site(path)
    assert found == ()
    assert made is not None
    assert made.folder == str(tmp_path)
    plain = site(SAMPLE)
    assert (made.circuits, made.hours, made.day_types) == (
        plain.circuits, plain.hours, plain.day_types
    )  # fmt: skip


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    made, found = load_site(tmp_path / "none.toml")
    assert made is None
    assert [f.code for f in found] == ["E701"]


# Mistakes


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (changed("schedcomp = 1", "schedcomp = 2"), "E221"),
        (changed("schedcomp = 1", 'schedcomp = "1"'), "E221"),
        (changed("latitude ", "latitud "), "E201"),
        (changed('name       = "Sample Garden Store, north lot"\n', ""), "E204"),
        (changed('name      = "Lot poles"\n', ""), "E204"),
        (changed('"Sample Garden Store, north lot"', '""'), "E215"),
        (changed('"Sample Garden Store, north lot"', r'"a\nb"'), "E216"),
        (changed('"Sample Garden Store, north lot"', "['a']"), "E206"),
        (changed("override_minutes = 0", 'override_minutes = "10 min"'), "E207"),
        (changed("override_minutes = 0", "override_minutes = -5"), "E214"),
        (changed("channel   = 1", "channel   = 1.5"), "E208"),
        (changed("channel   = 1", "channel = 99999999999999999999999999"), "E214"),
        (changed("0.14", "-0.14"), "E214"),
        (changed("0.14", "nan"), "E214"),
        (changed("0.14", "inf"), "E214"),
        (changed("observed = false", 'observed = "no"'), "E209"),
        (changed('keep_dark = ["every day: from 00:30 until 04:15"]', 'keep_dark = "x"'), "E210"),
        (changed('{ country = "US", only', '"US" #'), "E211"),
        (changed("[site]", "[[site]]"), "E213"),
        (changed('"40 x 160 W"', '"40 lamps"'), "E252"),
        (changed('"40 x 160 W"', '"0 x 160 W"'), "E252"),
        (changed('lamps     = "40 x 160 W"', "load_kw = 0"), "E214"),
        (changed('photocell = "none"', 'photocell = "yes"'), "E218"),
        (changed("40.5853 ", '"40,5853"'), "E228"),
        (changed("40.5853 ", '"1_000"'), "E232"),
        (changed("40.5853 ", "4_0.5853"), "E232"),
        (changed("40.5853 ", "nan"), "E214"),
        (changed("40.5853 ", '"40.5853 W"'), "E229"),
        (changed("40.5853 ", '"40 70 N"'), "E231"),
        (changed("40.5853 ", '"-40.5 N"'), "E230"),
        (changed("-105.0844 ", "-185.0844"), "E226"),
        (changed("America/Denver", "UTC-7"), "E236"),
        (changed("America/Denver", "GMT+1"), "E236"),
        (changed("America/Denver", "Etc/GMT+7"), "E236"),
        (changed("America/Denver", "-07:00"), "E236"),
        (changed("America/Denver", "mdt"), "E236"),
        (changed("America/Denver", "Denver"), "E237"),
        (changed("America/Denver", "America/Fort_Collins"), "E237"),
        (changed('"every day: usual"', '"every day: party"'), "E244"),
        (changed("late  =", "Usual =").replace(": late", ": usual"), "E240"),
        (SAMPLE + '[[unit]]\nlabel = "PANEL A"\n', "E240"),
        (changed('lit  = "2027-06-18 21:00 until 2027-06-19 00:30"\n', ""), "E253"),
        (changed("because", 'dark = "2027-06-18 21:00 until 2027-06-19 00:30"\nbecause'), "E253"),
        (changed("2027-06-19 00:30", "2027-06-17 00:30"), "E155"),
        (changed("fri 2027-12-03", "thu 2027-12-03"), "E153"),
        (changed('calendar = ["every day: usual"]', "calendar = []", SMALL), "E254"),
        (changed('calendar = ["every day: usual"]\n', "", SMALL), "E204"),
        (changed('country = "US", only', "only"), "E255"),
        (changed("observed = false", 'except = ["Easter"]'), "E257"),
        (changed('currency   = "USD"', 'tolerance = "90 s"'), "E222"),
        (
            changed('currency   = "USD"', 'tolerance = "12 min"\ntolerance_limit = "10 min"'),
            "E256",
        ),
        (re.sub("holidays   = .*\n", "", SAMPLE), "E321"),
        (re.sub(r"\[hours\][^[]*", "", SAMPLE), "E248"),
        (SAMPLE + 'unit_location = "40.59"\n', "E239"),
        (SAMPLE + 'confirmed = "yes"\n', "E260"),
        (SAMPLE + 'confirmed = "hearsay, 2027-03-12, 7F3A-92C1"\n', "E260"),
        (SAMPLE + 'confirmed = "read-back, 2027-02-30, 7F3A-92C1"\n', "E260"),
        (SAMPLE + 'confirmed = "read-back, 2027-03-12, 7F3A"\n', "E260"),
        (SAMPLE + "unit_location = [95, 5]\n", "E226"),
        (SAMPLE + "unit_location = [40]\n", "E239"),
        (SAMPLE + "[wishes]\n", "E202"),
        (SAMPLE + "[unist]\n", "E201"),
        ("circuit = []\n" + SMALL.split("[[circuit]]")[0], "E205"),
        (SMALL.replace("[day_types]", "[day_typs]"), "E201"),
    ],
)
def test_one_cause_makes_one_finding_and_no_site(text: str, code: str) -> None:
    made, found = site_from_source(Source("site.toml", text))
    assert (made, [f.code for f in found]) == (None, [code])


def test_a_caution_leaves_the_site() -> None:
    text = changed("America/Denver", "America/Chicago")
    made, found = site_from_source(Source("site.toml", text))
    assert made is not None
    assert [f.code for f in found] == ["E235"]


def test_words_of_hours_with_a_clock_time_of_their_own_need_no_hours() -> None:
    text = changed("until 23:00", "until close or 23:00", SMALL)
    assert codes(text) == []


def test_all_problems_come_in_one_run_in_the_order_of_the_file() -> None:
    text = SAMPLE
    for old, new in [
        ("40.5853 ", "40,5853 "),
        ('USD"', "USD"),
        ('"08:00-21:30"', "7:30"),
        ('"40 min"', "40"),
        ("22:45", "22:65"),
        ("serves ", "servs "),
        ("override_minutes = 0", "override_minutes = yes"),
        ('"fri, sat evenings: late"', '"fri, sat evenings: lat"'),
        ("because", "becuse"),
        ('label = "Panel A"', "label = 5"),
    ]:
        text = changed(old, new, text)
    found = findings(text)
    assert [(f.code, f.at.line if f.at else 0) for f in found] == [
        ("E162", 5), ("E168", 14), ("E160", 18), ("E219", 22), ("E105", 27), ("E201", 33),
        ("E165", 36), ("E243", 42), ("E201", 56), ("E206", 59),
    ]  # fmt: skip
    assert found == in_order(found)


def test_what_follows_from_an_unreadable_line_is_not_told() -> None:
    for old, new, code in [
        ("latitude   = 40.5853 ", "latitude   40.5853 ", "E173"),
        ("[day_types]", "[day types]", "E179"),
        ("usual = [", "usual = [ x, ", "E161"),
        ("late  =", "late evening =", "E176"),
        ("[[circuit]]", "[[circuit", "E180"),
        ('name      = "Lot poles"', 'name = "Lot poles', "E168"),
        ("staff_before =", "staff before =", "E176"),
        ("staff_before =", "staff_befor =", "E201"),
        ("holidays   = {", "holidays   = ", "E195"),
    ]:
        assert codes(changed(old, new)) == [code], new


# Places and zones


def coordinates(text: str, axis: Axis) -> tuple[float | None, list[str]]:
    source = Source("site.toml", text)
    value, found = read_degrees(PhraseText(text, SourceRange(source, 0, len(text))), axis)
    return value, [f.code for f in found]


@pytest.mark.parametrize(
    ("text", "axis", "degrees"),
    [
        ("40 35 07 N", LATITUDE, 40 + 35 / 60 + 7 / 3600),
        ("40.5853 N", LATITUDE, 40.5853),
        ("40\u00b0 35' 07.5\" N", LATITUDE, 40 + 35 / 60 + 7.5 / 3600),
        ("40\u00b035\u203207\u2033S", LATITUDE, -(40 + 35 / 60 + 7 / 3600)),
        ("105 05.06 W", LONGITUDE, -(105 + 5.06 / 60)),
        ("\u2212105.0844", LONGITUDE, -105.0844),
        ("-105.0844", LONGITUDE, -105.0844),
        ("W 105", LONGITUDE, -105.0),
        ("40.5 north", LATITUDE, 40.5),
        ("0", LATITUDE, 0.0),
    ],
)
def test_coordinates_as_people_write_them(text: str, axis: Axis, degrees: float) -> None:
    value, found = coordinates(text, axis)
    assert found == []
    assert value == pytest.approx(degrees, abs=1e-12)


@given(st.integers(0, 84), st.integers(0, 59), st.integers(0, 59), st.sampled_from("NS"))
def test_degrees_minutes_and_seconds_add_up(
    degrees: int, minutes: int, seconds: int, letter: str
) -> None:
    value, found = coordinates(f"{degrees} {minutes:02d} {seconds:02d} {letter}", LATITUDE)
    assert found == []
    assert value is not None
    assert round(abs(value) * 3600) == degrees * 3600 + minutes * 60 + seconds
    assert value == 0 or (value < 0) == (letter == "S")


@pytest.mark.parametrize(
    "text",
    ["", "N", "40 N 35", "40.5 30 N", "40 35 07 08", "1e3", "forty", "40 35 N W", "+-4", "nan"],
)
def test_other_forms_of_coordinates_are_refused(text: str) -> None:
    value, found = coordinates(text, LATITUDE)
    assert value is None
    assert len(found) == 1


def test_a_pair_of_coordinates() -> None:
    def pair(text: str) -> tuple[float, float] | None:
        source = Source("site.toml", text)
        return read_pair(PhraseText(text, SourceRange(source, 0, len(text))))[0]

    assert pair("40.59 N, 105.08 W") == (40.59, -105.08)
    assert pair("40.59;-105.08") == (40.59, -105.08)
    assert pair("105.08 W, 40.59 N") is None
    assert pair("40.59") is None


# Sites of the given zone with the slips that are usual: the corrected lines are the true place.
TRUE_PLACES = [
    ("America/Denver", 40.5853, -105.0844),
    ("Europe/Paris", 48.8566, 2.3522),
    ("Australia/Sydney", -33.8688, 151.2093),
    ("America/Sao_Paulo", -23.5505, -46.6333),
    ("Asia/Tokyo", 35.6762, 139.6503),
    ("Africa/Johannesburg", -26.2041, 28.0473),
    ("Pacific/Auckland", -36.8485, 174.7633),
]


def placed(name: str, latitude: float, longitude: float) -> tuple[Diagnostic, ...]:
    given_place = f'latitude = {latitude!r}\nlongitude = {longitude!r}\ntimezone = "{name}"'
    return findings(changed("latitude = 40.5853\nlongitude = -105.0844", given_place, SMALL))


@pytest.mark.parametrize(("name", "latitude", "longitude"), TRUE_PLACES)
def test_a_slip_in_the_coordinates_is_found_and_mended(
    name: str, latitude: float, longitude: float
) -> None:
    assert placed(name, latitude, longitude) == ()
    right = f"latitude = {latitude:g}\nlongitude = {longitude:g}".replace("e+02", "00")
    for slip in [(latitude, -longitude), (-latitude, longitude), (longitude, latitude)]:
        if abs(slip[0]) > 90:
            assert [f.code for f in placed(name, *slip)] == ["E224"]
            continue
        if _same_year(name, zones_at(*slip)):
            continue
        found = placed(name, *slip)
        assert has_problem(found), slip
        assert found[0].code in ("E233", "E225"), slip
        if found[0].code == "E233":
            assert found[0].fix.split("\n", 1)[1].split() == right.split() or _same_year(
                name, zones_at(*_fixed(found[0].fix))
            )


def _same_year(name: str, others: tuple[str, ...]) -> bool:
    year = date(2027, 1, 1), date(2027, 12, 31)
    mine = zone(name, *year)
    theirs = [zone(other, *year) for other in others]
    return any((z.starts, z.offsets) == (mine.starts, mine.offsets) for z in theirs)


def _fixed(fix: str) -> tuple[float, float]:
    numbers = re.findall(r"= (\S+)", fix)
    return float(numbers[0]), float(numbers[1])


@pytest.mark.parametrize(
    ("name", "latitude", "longitude"),
    [
        ("America/Phoenix", 33.45, -112.07),
        ("America/Boise", 40.5853, -105.0844),
        ("America/Denver", 38.89, -101.75),
        ("America/Chicago", 38.89, -101.75),
        ("America/Indiana/Indianapolis", 39.77, -86.16),
        ("America/New_York", 39.77, -86.16),
        ("Asia/Shanghai", 39.47, 75.99),
        ("Asia/Urumqi", 39.47, 75.99),
        ("America/Los_Angeles", 33.71, -118.27),
    ],
)
def test_zones_that_fit(name: str, latitude: float, longitude: float) -> None:
    """Zones of the same clock all year, either side within 50 km of a border, piers, overlaps."""
    assert placed(name, latitude, longitude) == ()


def test_a_place_in_the_open_sea_needs_a_zone() -> None:
    sea = SMALL.replace("40.5853", "40.0").replace("-105.0844", "-40.0")
    assert codes(sea) == ["E238"]


# Lamps


@pytest.mark.parametrize(
    ("text", "kilowatts"),
    [
        ("40 x 160 W", 6.4),
        ("12 x 400 W + 4 x 70 W", 5.08),
        ("40\u00d7160W", 6.4),
        ("1.5 kW", 1.5),
        ("4 X 0.25 kw", 1.0),
        ("40 x 160", None),
        ("4 x 1,5 kW", None),
        ("+", None),
        ("x 5 W", None),
        ("-4 x 5 W", None),
    ],
)
def test_lamps_are_added_up(text: str, kilowatts: float | None) -> None:
    source = Source("site.toml", text)
    value, found = parse_lamps(PhraseText(text, SourceRange(source, 0, len(text))))
    assert value == kilowatts
    assert (value is None) == bool(found)


@pytest.mark.parametrize(
    ("text", "proposed"),
    [
        ("22 x 150 watts", "22 x 150 W"),
        ("4 x 1,5 kW", "4 x 1.5 kW"),
        ("2 x 1,500 W", "2 x 1500 W"),
        ("12 lamps of 400 W and 4 at 70W", "12 x 400 W + 4 x 70W"),
        ("two big ones", "40 x 160 W"),
    ],
)
def test_lamps_are_proposed_as_they_would_be_right(text: str, proposed: str) -> None:
    (finding,) = parse_lamps(PhraseText(text, SourceRange(Source("site.toml", text), 0, 1)))[1]
    line = f'lamps = "{proposed}"'
    assert line in finding.fix.splitlines()
    right = PhraseText(proposed, SourceRange(Source("site.toml", proposed), 0, 1))
    assert parse_lamps(right)[1] == ()


@pytest.mark.parametrize(("written", "near"), [("12", "12 hour"), ("24h", "24 hour")])
def test_a_choice_that_begins_alike_is_proposed(written: str, near: str) -> None:
    found = findings(SAMPLE + f'[paper]\nclock = "{written}"\n')
    assert [(f.code, f.fix) for f in found] == [("E217", f'write\nclock = "{near}"')]


# Anything at all


def check_findings(source: Source) -> None:
    made, found = site_from_source(source)
    assert (made is None) == has_problem(found)
    for finding in found:
        assert finding.severity in (Severity.PROBLEM, Severity.CAUTION)
        for at in [finding.at, *(at for _, at in finding.also)]:
            if at is not None:
                assert at.source is source
                assert 0 <= at.start <= at.start + at.length <= len(source.text)
    assert found == in_order(found)
    render(found)


SIGNS = st.sampled_from(
    [*"\"'[]{}=,.:#-+ \n\t\\0159aez", "\r\n", "\u201c", "\u2212", "\x00", '"""']
)
EDITS = st.lists(
    st.tuples(st.integers(0, len(SAMPLE)), st.integers(0, 12), SIGNS | st.text(max_size=3)),
    min_size=1,
    max_size=4,
)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(EDITS)
def test_no_slip_of_the_pen_breaks_the_reader(edits: list[tuple[int, int, str]]) -> None:
    text = SAMPLE
    for start, dropped, put in edits:
        text = text[:start] + put + text[start + dropped :]
    check_findings(Source("site.toml", text))


@settings(max_examples=150, deadline=None)
@given(st.integers(0, SAMPLE.count("\n")), st.integers(0, SAMPLE.count("\n")))
def test_no_order_of_lines_breaks_the_reader(first: int, second: int) -> None:
    lines = SAMPLE.splitlines()
    lines.insert(second, lines.pop(min(first, len(lines) - 1)))
    check_findings(Source("site.toml", "\n".join(lines)))


NODES = st.recursive(
    st.sampled_from(
        ["1", "-0.0", "1e308", "nan", "true", '""', '"x"', "07:00", "2027-01-02", '"every day"']
    ),
    lambda inner: (
        st.lists(inner, max_size=2).map(lambda v: f"[{', '.join(v)}]")
        | st.lists(inner, max_size=2).map(
            lambda v: "{" + ", ".join(f"k{i} = {x}" for i, x in enumerate(v)) + "}"
        )
    ),
    max_leaves=4,
)
KEYS = [
    *re.findall(r"^([a-z_]+) *=", SAMPLE, re.MULTILINE),
    *("tolerance", "tolerance_limit", "favour", "spare", "load_kw", "dark", "unit_location"),
]


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(KEYS), NODES)
def test_no_value_of_any_type_breaks_the_reader(key: str, value: str) -> None:
    pattern = re.compile(rf"^{key} *= (?:\[\n(?:  .*\n)*\]|.*)$", re.MULTILINE)
    text = pattern.sub(f"{key} = {value}", SAMPLE, count=1)
    if text == SAMPLE:
        text = changed('currency   = "USD"', f"{key} = {value}") + f"{key} = {value}\n"
    check_findings(Source("site.toml", text))


@given(st.text(max_size=100))
def test_no_text_breaks_the_reader(text: str) -> None:
    check_findings(Source("site.toml", text))


def test_a_controller_file_in_place_of_a_site_file_is_told_once() -> None:
    assert codes('schedcomp_controller = 1\nname = "lot clock"\nevent_slots = 40\n') == ["E246"]
