"""table.csv, events.csv, special_days.csv and check.json of compilations made by hand."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import re
import subprocess
import sys
import unicodedata
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.answers import build
from schedcomp.audit_report import NO_SLOT
from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.deviation import TotalDeviation, Worst, deviations, total_deviation
from schedcomp.model import DAY, HOUR, Action
from schedcomp.output.canonical import canonical
from schedcomp.output.check import check_document
from schedcomp.output.csvfile import cell_text, csv_bytes
from schedcomp.output.events import COLUMNS as EVENT_COLUMNS
from schedcomp.output.events import events_csv
from schedcomp.output.files import SET_NAMES
from schedcomp.output.special_days import special_days_csv
from schedcomp.output.table import COLUMNS as TABLE_COLUMNS
from schedcomp.output.table import table_csv, table_rows
from schedcomp.output.transfer import transfer_json
from schedcomp.records import replace
from schedcomp.year import Cause, CircuitYear, Span, Year
from tests import made_up
from tests.made_up import COMPILED, END, SIGN, START, YEAR, ZONE, at

REPOSITORY = Path(__file__).parent.parent


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode(), newline="")))


# Cells


@pytest.mark.parametrize(
    "text",
    [
        '=HYPERLINK("x") Yard',
        "+1 555 0100",
        "-2+3",
        "@SUM(A1)",
        "\t=1",
        "\tplain",
        "  =1+1",
        "\u00a0=1",
        "\u200b=1",
        "\ufeff=1",
        "\uff1d1+1",
        "\uff0b1+1",
        "\uff0d1+1",
        "\uff20A1",
        "\ufe661",
        "\u22121+1",
        "-",
        "-06:00:00",
        "-15 min",
        "+-1",
    ],
)
def test_text_that_would_start_a_formula(text: str) -> None:
    assert cell_text(text) == "'" + text
    (row,) = csv.reader(io.StringIO(csv_bytes((), [(text,)]).decode()[1:], newline=""))
    assert row == ["'" + text]


@pytest.mark.parametrize(
    "text", ["-15", "+15", "-111.6", "-06:00", "+05:45", "15", "23:30", "", "a=b", "'quoted'"]
)
def test_numbers_clocks_and_offsets_stay_as_they_are(text: str) -> None:
    assert cell_text(text) == text


def test_numbers_are_written_as_numbers() -> None:
    content = csv_bytes(("offset_min", "longitude"), [(-15, -111.6), (0, 40.0)])
    assert content == b"offset_min,longitude\n-15,-111.6\n0,40.0\n"


@pytest.mark.parametrize(
    ("text", "flat"),
    [
        ("two\r\nlines", "two lines"),
        ("a\nb\rc", "a b c"),
        ("a\x00b\x85c\u2028d", "a b c d"),
        ("\n=1", "' =1"),
        ("\r=1", "' =1"),
        ("a\tb", "a\tb"),
    ],
)
def test_line_breaks_become_blanks(text: str, flat: str) -> None:
    assert cell_text(text) == flat


def test_quoting_is_that_of_rfc_4180() -> None:
    content = csv_bytes(("a", "b"), [('say "on"', "x, y"), ("plain", "")])
    assert content == b'a,b\n"say ""on""","x, y"\nplain,\n'


@given(st.lists(st.lists(st.text(st.characters(codec="utf-8")), min_size=2, max_size=2)))
def test_any_text_reads_back_flat_or_guarded(rows: list[list[str]]) -> None:
    content = csv_bytes(("a", "b"), rows).decode()
    assert content.count("\n") == len(rows) + 1
    found = list(csv.reader(io.StringIO(content, newline="")))[1:]
    for wrote, read in zip(rows, found, strict=True):
        for text, cell in zip(wrote, read, strict=True):
            assert cell in (flat_of(text), "'" + flat_of(text))
            shown = cell.lstrip()
            is_number = re.fullmatch(r"[+-][0-9]+([.:][0-9]+)?", cell)
            assert is_number or not shown.startswith(("=", "@", "+", "-"))


def flat_of(text: str) -> str:
    """Every control character but the tab is a blank, the end of a line one blank."""
    return "".join(
        " " if c in "\u2028\u2029" or (unicodedata.category(c) == "Cc" and c != "\t") else c
        for c in text.replace("\r\n", " ")
    )


# table.csv


def test_the_table_of_four_dates() -> None:
    """Lit when the period begins and when it ends; 14 March has a summer clock from 02:00 on."""
    content = table_csv(YEAR, ZONE)
    assert content.decode().split("\n") == [
        "date,weekday,time,utc_offset,utc,channel,circuit,action,cause,day_type",
        "2027-03-12,fri,00:00:00,-07:00,2027-03-12T07:00:00Z,1,Lot poles,on,period begins,usual",
        "2027-03-12,fri,01:00:00,-07:00,2027-03-12T08:00:00Z,1,Lot poles,off,23:00,usual",
        "2027-03-12,fri,18:15:00,-07:00,2027-03-13T01:15:00Z,1,Lot poles,on,"
        "dusk (sunset + 15 min),usual",
        "2027-03-12,fri,18:15:00,-07:00,2027-03-13T01:15:00Z,2,"
        '"\'@Sign, ""west"" side",on,dusk (sunset + 15 min),usual',
        "2027-03-12,fri,22:00:00,-07:00,2027-03-13T05:00:00Z,2,"
        '"\'@Sign, ""west"" side",off,23:00,usual',
        "2027-03-12,fri,23:00:00,-07:00,2027-03-13T06:00:00Z,1,Lot poles,off,23:00,usual",
        "2027-03-13,sat,18:16:00,-07:00,2027-03-14T01:16:00Z,1,Lot poles,on,"
        "dusk (sunset + 15 min),usual",
        "2027-03-14,sun,00:30:00,-07:00,2027-03-14T07:30:00Z,1,Lot poles,off,"
        "kept dark: 00:30,usual",
        "2027-03-15,mon,22:00:00,-06:00,2027-03-16T04:00:00Z,1,Lot poles,on,"
        "dusk (sunset + 15 min),usual",
        "2027-03-15,mon,23:59:00,-06:00,2027-03-16T05:59:00Z,2,"
        '"\'@Sign, ""west"" side",on,dusk (sunset + 15 min),usual',
        "2027-03-16,tue,00:00:00,-06:00,2027-03-16T06:00:00Z,1,Lot poles,off,period ends,usual",
        "2027-03-16,tue,00:00:00,-06:00,2027-03-16T06:00:00Z,2,"
        '"\'@Sign, ""west"" side",off,23:00,usual',
        "",
    ]


SPANS = st.lists(st.tuples(st.integers(-30, 130), st.integers(1, 40)), max_size=8)


def year_of(*circuits: list[tuple[int, int]]) -> Year:
    """Circuits lit in (hour, hours) counted from the period's start, merged where they meet."""
    made = []
    for channel, lit in enumerate(circuits, start=1):
        spans: list[Span] = []
        for hour, hours in sorted(lit):
            start, end = START + hour * HOUR, START + (hour + hours) * HOUR
            if not spans or start > spans[-1].end:
                begin = made_up.reason("dusk", start)
                spans.append(Span(start, end, begin, made_up.reason("23:00", end)))
        made.append(CircuitYear(circuit=f"c{channel}", channel=channel, spans=tuple(spans)))
    return replace(YEAR, circuits=tuple(made))


@given(SPANS, SPANS)
def test_rows_alternate_and_are_in_order(
    one: list[tuple[int, int]], two: list[tuple[int, int]]
) -> None:
    year = year_of(one, two)
    rows = table_rows(year)
    keys = [(row.instant, row.channel) for row in rows]
    assert keys == sorted(set(keys))
    for circuit in year.circuits:
        own = [row for row in rows if row.circuit == circuit.circuit]
        assert [row.action for row in own] == [Action.ON, Action.OFF] * (len(own) // 2)
        assert all(START <= row.instant <= END for row in own)


@given(SPANS)
def test_the_state_between_rows_is_that_of_the_year(lit: list[tuple[int, int]]) -> None:
    year = year_of(lit)
    rows = [row.instant for row in table_rows(year)]
    for half_hour in range(2 * (END - START) // HOUR):
        instant = START + half_hour * HOUR // 2
        is_on = sum(row <= instant for row in rows) % 2 == 1
        assert is_on == year.circuits[0].is_lit(instant)


@given(SPANS)
def test_local_columns_belong_to_the_instant(lit: list[tuple[int, int]]) -> None:
    for row in rows_of(table_csv(year_of(lit), ZONE)):
        assert tuple(row) == TABLE_COLUMNS
        shown = datetime.fromisoformat(f"{row['date']}T{row['time']}{row['utc_offset']}")
        assert shown == datetime.fromisoformat(row["utc"])
        assert shown.strftime("%a").lower() == row["weekday"]


def test_only_what_is_cut_by_the_period_is_marked_so() -> None:
    """A span that begins with the period keeps its own reason."""
    exact = [row.cause for row in table_rows(year_of([(0, 95)]))]
    over = [row.cause for row in table_rows(year_of([(-1, 97)]))]
    assert exact == ["dusk", "23:00"]
    assert over == ["period begins", "period ends"]
    assert table_rows(year_of([(-5, 5), (95, 5)])) == ()


def test_a_lit_end_of_the_period_names_the_day_type_that_lights_it() -> None:
    """The span began where keep-dark ended, which is no day type."""
    start, end = END - HOUR, END + HOUR
    after_dark = replace(made_up.reason("04:15", start, Cause.KEEP_DARK), day_type="")
    spans = (Span(start, end, after_dark, made_up.reason("dawn", end)),)
    circuit = CircuitYear(circuit="c", channel=1, spans=spans)
    on, off = table_rows(replace(YEAR, circuits=(circuit,)))
    assert (on.cause, on.day_type) == ("kept dark: 04:15", "")
    assert (off.cause, off.day_type) == ("period ends", "usual")


def test_midnight_that_comes_twice_has_rows_in_order_of_utc() -> None:
    """2 November 2025 at Havana: the clock goes from 01:00 back to 00:00."""
    havana = zone("America/Havana", date(2025, 11, 2), date(2025, 11, 2))
    first = havana.first_pass(date(2025, 11, 2), 0)
    lit = [(first + 1800, first + 3600 + 1800)]
    spans = tuple(Span(a, b, made_up.reason("x", a), made_up.reason("y", b)) for a, b in lit)
    year = replace(
        YEAR,
        start=first,
        end=first + DAY + HOUR,
        circuits=(CircuitYear(circuit="c", channel=1, spans=spans),),
    )
    on, off = rows_of(table_csv(year, havana))
    assert (on["time"], on["utc_offset"]) == ("00:30:00", "-04:00")
    assert (off["time"], off["utc_offset"]) == ("00:30:00", "-05:00")


# events.csv


def test_the_program_as_one_would_key_it() -> None:
    content = events_csv(made_up.PROGRAM, made_up.SITE.circuits)
    assert tuple(rows_of(content)[0]) == EVENT_COLUMNS
    assert content.decode().split("\n") == [
        "slot,channels,circuits,action,starts_at,time,offset_min,weekdays,from,through,plan,purpose",
        "1,1,Lot poles,on,sunset,,-15,mon tue wed thu fri sat sun,,,,"
        '"\'=1+1 ""evening""\tON from dusk"',
        "2,1,Lot poles,off,clock,23:00,,mon wed sun,11-20,01-06,,",
        '3,2,"\'@Sign, ""west"" side",off,clock,00:05,,mon tue wed thu fri sat sun,'
        "2027-12-24,2028-01-02,,single nights",
        "",
    ]


def test_events_of_a_plan_have_no_weekdays_and_no_dates() -> None:
    """They fire on the special days of their plan; an event may act on several channels."""
    program = made_up.SPECIAL_PROGRAM
    rows = rows_of(events_csv(program, made_up.PLAIN_SITE.circuits))
    assert [(row["slot"], row["plan"]) for row in rows][-2:] == [("5", "A"), ("6", "A")]
    for row, event in zip(rows, program.events, strict=True):
        assert bool(row["weekdays"]) == (not event.plan)
        assert (row["from"] == row["through"] == "") == (event.dates is None)
    assert (rows[0]["channels"], rows[0]["circuits"]) == ("1 2", "Lot poles; Sign")
    dated = replace(program.events[4], dates=program.events[1].dates)
    (row,) = rows_of(events_csv(replace(program, events=(dated,)), ()))
    assert (row["from"], row["through"], row["circuits"]) == ("", "", "")


def test_the_special_days_as_one_would_key_them() -> None:
    content = special_days_csv(made_up.SPECIAL_PROGRAM, made_up.PLAIN_SITE.circuits)
    assert content.decode().split("\n") == [
        "slot,from,through,plan,channels,circuits",
        "1,12-31,01-01,A,1,Lot poles",
        "2,2027-07-04,2027-07-04,off,1 2,Lot poles; Sign",
        "3,02-29,02-29,rest,2,Sign",
        "",
    ]


def test_names_beside_special_days_start_no_formula() -> None:
    content = special_days_csv(made_up.SPECIAL_PROGRAM, made_up.SITE.circuits)
    assert rows_of(content)[2]["circuits"] == '\'@Sign, "west" side'


def test_special_days_are_written_where_there_are_any() -> None:
    """And with a program that may not be keyed they are not."""

    def build_files(compiled: Compiled) -> dict[str, bytes]:
        return build.build_files(compiled, check_document(compiled, made_up.VERSIONS))

    with_program = {"table.csv", "check.json", "events.csv", "transfer.json", "calendar.ics"}
    assert set(build_files(COMPILED)) == with_program
    special = made_up.WITH_SPECIAL_DAYS
    files = build_files(special)
    assert set(files) == set(build_files(COMPILED)) | {"special_days.csv"} <= set(SET_NAMES)
    assert files["special_days.csv"] == special_days_csv(
        made_up.SPECIAL_PROGRAM, special.site.circuits
    )
    refused = build_files(replace(special, audit=made_up.DISAGREEING))
    assert set(refused) == {"table.csv", "check.json"}


# Deviations


def test_worst_deviations_of_each_circuit_and_action() -> None:
    found = deviations(YEAR, made_up.TARGET, made_up.AUDIT)
    assert [(d.circuit, d.action, d.early, d.late) for d in found[:2]] == [
        ("Lot poles", Action.ON, Worst(120, at("03-12 18:15")), Worst(0, None)),
        ("Lot poles", Action.OFF, Worst(0, None), Worst(60, at("03-12 01:00"))),
    ]
    assert [d.circuit for d in found[2:]] == [SIGN, SIGN]


def test_deviations_are_counted_from_the_exact_year() -> None:
    """The target asks for 20 s later than the exact year, and the run is right with that."""
    first, *rest = made_up.TARGET.channels[1].switchings
    moved = replace(first, instant=first.instant + 20)
    channel = replace(made_up.TARGET.channels[1], switchings=(moved, *rest))
    target = replace(made_up.TARGET, channels=(channel,))
    happened = tuple((s.instant, s.action, 1) for s in channel.switchings)
    run = replace(made_up.run("sun exact"), switchings=((2, happened),))
    audit = replace(made_up.AUDIT, runs=(run,))
    on, off = deviations(YEAR, target, audit)
    assert on.late == Worst(20, first.instant)
    assert off.late == off.early == on.early == Worst(0, None)


def test_a_run_that_disagrees_is_no_measure() -> None:
    found = deviations(YEAR, made_up.TARGET, made_up.DISAGREEING)
    assert {d.late.seconds for d in found} == {0}


def test_the_sum_of_all_deviations_is_weighed_by_load() -> None:
    """5400 s at 6.4 kW are 9.6 kWh, 3600 s are 6.4 kWh; the sign has no load."""
    certificate = made_up.WITH_SPECIAL_DAYS.fitted.certificate
    assert certificate is not None
    total = total_deviation(certificate)
    assert total is not None
    assert (total.seconds, total.bound_seconds) == (6030, 4230)
    assert (total.kwh, total.bound_kwh) == pytest.approx((9.6, 6.4))
    without = replace(certificate, deviations=certificate.deviations[1:])
    total = total_deviation(without)
    assert total == TotalDeviation(seconds=630, bound_seconds=630, kwh=None, bound_kwh=None)
    assert total.is_least
    assert total_deviation(replace(certificate, deviations=())) is None


# check.json


Document = dict[str, Any]


def check_of(compiled: Compiled = COMPILED) -> Document:
    document: Document = json.loads(canonical(check_document(compiled, made_up.VERSIONS)))
    return document


def test_check_is_canonical() -> None:
    content = canonical(check_document(COMPILED, made_up.VERSIONS))
    assert canonical(json.loads(content)) == content


def test_check_names_site_period_versions_and_the_rule() -> None:
    check = check_of()
    assert check["site"]["name"] == made_up.YARD
    assert check["site"]["longitude_degrees"] == -111.6
    assert check["site"]["whereabouts"] == COMPILED.world.whereabouts.text
    assert check["period"] == {
        "first": "2027-03-12",
        "last": "2027-03-15",
        "start_utc": "2027-03-12T07:00:00Z",
        "end_utc": "2027-03-16T06:00:00Z",
    }
    assert check["clock_changes"] == [
        {
            "utc": "2027-03-14T09:00:00Z",
            "offset_before_minutes": -420,
            "offset_after_minutes": -360,
        }
    ]
    assert check["versions"]["ephemeris"] == "DE440"
    assert check["rule"] == "no rule was checked"
    assert check["assumed"] == [{"topic": "dusk", "text": "sunset + 15 min"}]
    assert check["assumed_of_controller"] == ["clock_error_minutes"]


def test_check_of_a_program() -> None:
    check = check_of()
    assert check["program_may_be_keyed"] is True
    assert check["program"]["slots_used"] == 3
    assert check["fit"]["certificate"] == {
        "slots": 3,
        "bound": 3,
        "proven": True,
        "tolerance_minutes": 3,
        "deviations": [],
    }
    assert check["test_run"]["agrees"] is True
    assert [run["name"] for run in check["test_run"]["runs"]] == [
        "sun exact",
        "sun early",
        "sun late",
        "sun early, opposite start",
    ]
    assert check["test_run"]["runs"][1]["worst_early"] == {
        "seconds": 120,
        "asked": {"utc": "2027-03-13T01:15:00Z", "local": "2027-03-12 18:15:00"},
    }
    assert check["deviations"]["by_circuit"][1] == {
        "circuit": "Lot poles",
        "channel": 1,
        "action": "off",
        "early": {"seconds": 0, "asked": None},
        "late": {
            "seconds": 60,
            "asked": {"utc": "2027-03-12T08:00:00Z", "local": "2027-03-12 01:00:00"},
        },
    }
    (dropped,) = check["deviations"]["changed_for_the_controller"]
    assert (dropped["kind"], dropped["seconds"]) == ("span dropped", 40)
    assert dropped["start"]["local"] == "2027-03-13 18:16:00"


def test_check_of_special_days_and_safety_repeats() -> None:
    check = check_of(made_up.WITH_SPECIAL_DAYS)
    assert check["safety"] == [{"slot": 4, "channels": [1]}]
    assert check["fit"]["special_day_slots_of_controller"] == 16
    first, second, _ = check["special_days"]
    assert first == {
        "slot": 1,
        "from": "12-31",
        "through": "01-01",
        "plan": "A",
        "channels": [1],
        "circuits": "Lot poles",
        "only_year": 2027,
    }
    assert (second["plan"], second["only_year"]) == ("off", None)
    assert check["fit"]["certificate"]["deviations"][0] == {
        "circuit": "Lot poles",
        "seconds": 5400,
        "bound_seconds": 3600,
    }
    assert check["deviations"]["total"] == {
        "minutes": 100.5,
        "bound_minutes": 70.5,
        "kwh": 9.6,
        "bound_kwh": 6.4,
    }


def test_check_of_mishaps_with_and_without_the_repeats() -> None:
    mishaps = check_of(made_up.WITH_SPECIAL_DAYS)["mishaps"]
    assert [m["seconds"] for m in mishaps["before_safety"]["missed_events"]] == [17100, 91800]
    _, missed = mishaps["after_safety"]["missed_events"]
    assert missed == {
        "slot": 2,
        "channel": 1,
        "action": "off",
        "at": {"utc": "2027-03-13T06:00:00Z", "local": "2027-03-12 23:00:00"},
        "until": {"utc": "2027-03-13T19:00:00Z", "local": "2027-03-13 12:00:00"},
        "seconds": 13 * HOUR,
    }
    assert mishaps["before_safety"]["power_cuts"] == []
    (cut,) = mishaps["after_safety"]["power_cuts"]
    assert (cut["lamps"], cut["length_seconds"], cut["clock_lost"]) == ("lit", HOUR, False)
    assert cut["seconds"] == 12 * HOUR + HOUR // 2


def test_check_of_how_long_the_program_is_right() -> None:
    """The clock goes forward on 12 March 2028, which a clock of 2027 does not know."""
    good = check_of(made_up.WITH_SPECIAL_DAYS)["good_until"]
    assert (good["last"], good["looked_through"]) == ("2028-03-10", "2028-06-30")
    assert (good["halted"], good["estimated"]) == (None, True)
    wrong = good["wrong"]
    assert wrong["date"] == "2028-03-11"
    assert wrong["happened"] == {"utc": "2028-03-12T00:00:00Z", "local": "2028-03-11 17:00:00"}
    assert wrong["expected"] is None
    assert (wrong["circuit"], wrong["slot"]) == ("Lot poles", 5)
    assert (wrong["what"], wrong["line"]) == ("come on when they should not", "2027-03-11: late")
    assert made_up.FIRST_WRONG.happened is not None
    later = replace(made_up.FIRST_WRONG, happened=made_up.FIRST_WRONG.happened + DAY)
    summer = replace(COMPILED, good_until=replace(made_up.GOOD_UNTIL, wrong=later))
    happened = check_of(summer)["good_until"]["wrong"]["happened"]
    assert happened == {"utc": "2028-03-13T00:00:00Z", "local": "2028-03-12 18:00:00"}
    right = replace(made_up.GOOD_UNTIL, wrong=None, halted="no holidays known")
    good = check_of(replace(COMPILED, good_until=right))["good_until"]
    assert (good["wrong"], good["halted"]) == (None, "no holidays known")


def test_check_tells_what_was_not_looked_for() -> None:
    check = check_of()
    assert check["mishaps"] == {"before_safety": None, "after_safety": None}
    assert check["good_until"] is None
    assert check["deviations"]["total"] is None
    assert check["special_days"] == check["safety"] == []


def test_check_of_promises_nights_and_energy() -> None:
    check = check_of()
    (promise,) = check["promises"]
    assert (promise["wanted"], promise["exact_year"], promise["test_run"]) == ("lit",) * 3
    assert promise["kept"] is True
    assert check["nights_without_light"] == ["2027-03-14"]
    poles, sign = check["energy"]
    hours = 1 + 4.75 + 374 / 60 + 2
    assert poles["hours"] == round(hours, 3)
    assert poles["kwh"] == pytest.approx(6.4 * hours, abs=0.001)
    assert poles["cost"] == pytest.approx(6.4 * hours * 0.14, abs=0.01)
    assert (poles["currency"], poles["switchings"]) == ("USD", 3)
    assert (sign["kwh"], sign["cost"], sign["currency"]) == (None, None, None)


def test_check_of_holidays_tells_their_effect() -> None:
    """Only the holiday of the period; the sign has no line for it."""
    holidays = check_of()["holidays"]
    assert holidays["left_out"] == ["Presidents' Day"]
    assert holidays["list"] == "US"
    assert holidays["used"] == [
        {
            "weekday": "sun",
            "date": "2027-03-14",
            "name": "Founders' Day",
            "effect": [
                {"circuit": "Lot poles", "mornings": "dark", "evenings": "dark"},
                {"circuit": SIGN, "mornings": "usual", "evenings": "usual"},
            ],
        }
    ]


def test_check_of_undecided_dates_and_empty_windows() -> None:
    check = check_of()
    assert check["dates_no_line_names"] == [
        {"circuit": SIGN, "date": "2027-03-13", "half": half} for half in ("mornings", "evenings")
    ]
    assert check["empty_windows"] == [
        {
            "circuit": "Lot poles",
            "window": "on from 23:00 until dusk",
            "why": "end before start",
            "count": 2,
            "first": "2027-03-12",
            "last": "2027-03-13",
        },
        {
            "circuit": "Lot poles",
            "window": "on from open until 09:00",
            "why": "no such hours",
            "count": 1,
            "first": "2027-03-14",
            "last": "2027-03-14",
        },
    ]
    (bridged,) = check["short_stretches"]
    assert (bridged["what"], bridged["seconds"]) == ("gap bridged", 300)


def test_check_without_a_program() -> None:
    check = check_of(made_up.NOT_FITTING)
    assert check["program"] is None
    assert check["test_run"] is None
    assert check["program_may_be_keyed"] is False
    assert check["deviations"]["by_circuit"] == []
    assert check["special_days"] == check["safety"] == []
    assert check["fit"] == {
        "fits": False,
        "slots_of_controller": 64,
        "slots_needed": 71,
        "special_day_slots_of_controller": 0,
        "tolerance_minutes": 10,
        "favour": "light",
        "certificate": None,
        "out_of_reach": [],
    }


def test_check_names_switchings_that_no_slot_can_do() -> None:
    channel = made_up.TARGET.channels[0]
    fitted = replace(
        made_up.NOT_FITTING.fitted,
        slots_needed=None,
        out_of_reach=(("Lot poles", channel.switchings[:3]), (SIGN, ())),
    )
    (found,) = check_of(replace(made_up.NOT_FITTING, fitted=fitted))["fit"]["out_of_reach"]
    assert (found["circuit"], found["count"]) == ("Lot poles", 3)
    assert found["first"]["local"] == "2027-03-12 01:00:00"
    assert found["last"]["local"] == "2027-03-12 23:00:00"


def test_check_of_a_test_run_that_disagrees() -> None:
    check = check_of(replace(COMPILED, audit=made_up.DISAGREEING))
    assert check["program_may_be_keyed"] is False
    test_run = check["test_run"]
    assert test_run["agrees"] is False
    assert test_run["runs"][1]["differences"] == [
        {
            "kind": "extra",
            "channel": 1,
            "action": "on",
            "expected": None,
            "happened": {"utc": "2027-03-15T02:00:00Z", "local": "2027-03-14 20:00:00"},
        }
    ]
    assert test_run["overlaps"][0]["slots"] == [1, 2]
    by_itself = replace(made_up.DISAGREEING.overlaps[0], first_slot=NO_SLOT)
    audit = replace(made_up.DISAGREEING, overlaps=(by_itself,))
    test_run_of = check_of(replace(COMPILED, audit=audit))["test_run"]
    assert test_run_of["overlaps"][0]["slots"] == [None, 2]
    assert test_run["on_intervals"][0]["kind"] == "missing"


# The same bytes everywhere


def test_files_do_not_depend_on_the_order_of_sets() -> None:
    """Under three hash seeds, and in another time zone and language of the computer."""
    program = """
import hashlib
from schedcomp.output.canonical import canonical
from schedcomp.output.check import check_document
from schedcomp.output.events import events_csv
from schedcomp.output.special_days import special_days_csv
from schedcomp.output.table import table_csv
from schedcomp.output.transfer import transfer_json
from tests.made_up import COMPILED, PROGRAM, SITE, VERSIONS, YEAR, ZONE
from tests.made_up import SPECIAL_PROGRAM, WITH_SPECIAL_DAYS
for content in (
    table_csv(YEAR, ZONE), events_csv(PROGRAM, SITE.circuits),
    canonical(check_document(COMPILED, VERSIONS)), transfer_json(COMPILED, PROGRAM, VERSIONS),
    special_days_csv(SPECIAL_PROGRAM, SITE.circuits),
    canonical(check_document(WITH_SPECIAL_DAYS, VERSIONS)),
    transfer_json(WITH_SPECIAL_DAYS, SPECIAL_PROGRAM, VERSIONS),
):
    print(hashlib.sha256(content).hexdigest())
"""
    found = set()
    for seed, zone_name in (("0", "UTC"), ("1", "Asia/Tokyo"), ("4711", "America/Denver")):
        told = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone_name, "LC_ALL": "C"}
        ended = subprocess.run(
            [sys.executable, "-c", program],
            env=told,
            cwd=REPOSITORY,
            capture_output=True,
            check=True,
            timeout=120,
        )
        found.add(ended.stdout)
    (only,) = found
    here = [
        table_csv(YEAR, ZONE),
        events_csv(made_up.PROGRAM, made_up.SITE.circuits),
        canonical(check_document(COMPILED, made_up.VERSIONS)),
        transfer_json(COMPILED, made_up.PROGRAM, made_up.VERSIONS),
        special_days_csv(made_up.SPECIAL_PROGRAM, made_up.SITE.circuits),
        canonical(check_document(made_up.WITH_SPECIAL_DAYS, made_up.VERSIONS)),
        transfer_json(made_up.WITH_SPECIAL_DAYS, made_up.SPECIAL_PROGRAM, made_up.VERSIONS),
    ]
    assert only.decode().split() == [hashlib.sha256(content).hexdigest() for content in here]
