"""A site file with remarks, written from the answers of a site walk."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest

from schedcomp import controllerfile
from schedcomp.interview import NONE, OWN, YES, Answers, circuit_names, of_circuit
from schedcomp.interviewchecks import HOURS_KEYS, coordinates, country_code, split
from schedcomp.places import whereabouts

DARK_LINE = "dark"
USUAL_TOLERANCE = "10 min"
_LONGEST_STEM = 40


def file_stem(name: str) -> str:
    """Short ASCII for file names: `Corner pharmacy, lot` becomes `corner-pharmacy-lot`."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    stem = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:_LONGEST_STEM].strip("-")
    return stem or "site"


def controller_file_name(stem: str) -> str:
    return f"{stem}-controller.toml"


def site_text(answers: Answers, stem: str, promises: Sequence[str] = ()) -> str:
    """The whole site file; the first circuit gets the promises. Answers must be checked ones."""
    parts = [
        _head(),
        _site(answers, stem),
        _hours(answers),
        _day_types(answers),
        *(
            _circuit(answers, number, name, promises if number == 1 else ())
            for number, name in enumerate(circuit_names(answers), start=1)
        ),
        *_units(answers),
    ]
    return "\n".join(part for part in parts if part)


def controller_text(answers: Answers, stem: str) -> str | None:
    """A file for a controller told by its menu; None for a built-in kind."""
    if answers["controller"] != OWN:
        return None
    starts = ["clock", "sunrise", "sunset"] if answers["sunset"] == YES else ["clock"]
    ranges = "yearly" if answers["dates"] == YES else "none"
    return (
        "# The time switch as its menu tells it. What is left out is assumed, and every build\n"
        "# says so: look at its manual and add what differs.\n"
        "schedcomp_controller = 1\n"
        f"name        = {_quoted(f'{stem} clock')}\n"
        f"event_slots = {answers['slots']}\n"
        f"channels    = {answers['channels']}\n"
        f"starts_at   = [{', '.join(map(_quoted, starts))}]\n"
        f"date_ranges = {_quoted(ranges)}\n"
    )


def _head() -> str:
    return (
        "# Made from the answers of a site walk; the numbers are those of its form.\n"
        "# Change what is not right in any editor, then build again.\n"
        "schedcomp = 1\n"
    )


def _site(answers: Answers, stem: str) -> str:
    degrees = coordinates(answers["place"])
    if degrees is None:
        raise ValueError("the place was checked")
    latitude, longitude = degrees
    where = whereabouts(latitude, longitude).text
    own = answers["controller"] == OWN
    controller = controller_file_name(stem) if own else answers["controller"]
    rows = [
        ("name", _quoted(answers["name"]), "1.1"),
        ("latitude", f"{latitude:.6g}", f"1.2  {where}"),
        ("longitude", f"{longitude:.6g}", "     east is positive, west of Greenwich negative"),
        ("timezone", _quoted(answers["zone"]), "1.3"),
        ("dusk", _quoted("sunset + 15 min"), "what is called dusk here"),
        ("dawn", _quoted("sunrise - 15 min"), "and dawn"),
        *_holiday_rows(answers),
        ("controller", _quoted(controller), "7.1"),
    ]
    if _knows_sun(answers):
        rows.append(("tolerance", _quoted(USUAL_TOLERANCE), "how far from the sun lamps may be"))
    return "[site]\n" + _rows(rows)


def _knows_sun(answers: Answers) -> bool:
    """A controller with sun starts needs some minutes for its own sun times."""
    if answers["controller"] == OWN:
        return answers["sunset"] == YES
    found, _ = controllerfile.load_controller(answers["controller"])
    return found is not None and bool(found.sun_starts)


def _holiday_rows(answers: Answers) -> Iterator[tuple[str, str, str]]:
    if not _has_holidays(answers):
        return
    code = country_code(answers["country"]) or ""
    only = ""
    if answers["holidays"] != "all":
        only = f", only = [{', '.join(_quoted(n) for n in split(answers['holidays']))}]"
    value = f"{{ country = {_quoted(code)}{only}, observed = false }}"
    yield "holidays", value, "6.1, 6.2"


def _has_holidays(answers: Answers) -> bool:
    return answers.get("country", NONE) != NONE


def _has_hours(answers: Answers) -> bool:
    return any(answers.get(key, NONE) not in (NONE, "closed") for key in HOURS_KEYS)


def _hours(answers: Answers) -> str:
    if not _has_hours(answers):
        return ""
    days = [(k, "closed" if answers.get(k, NONE) == NONE else answers[k]) for k in HOURS_KEYS]
    rows = [
        (key, _quoted(value), f"4.{number}") for number, (key, value) in enumerate(days, start=1)
    ]
    if _has_holidays(answers):
        rows.append(("holidays", _quoted("closed"), "6.2"))
    if answers["closed"] != NONE:
        rows.append((_quoted(answers["closed"]), _quoted("closed"), "6.3"))
    rows += [
        ("staff_before", _quoted(f"{answers['before']} min"), "4.4  arrive is so long before open"),
        ("staff_after", _quoted(f"{answers['after']} min"), "4.5  leave is so long after close"),
    ]
    return "[hours]\n" + _rows(rows)


def _day_types(answers: Answers) -> str:
    """The evenings and mornings of all circuits, those alike once."""
    rows = []
    for windows, name in _evenings(answers).items():
        rows.append((name, f"[{', '.join(map(_quoted, windows))}]", "5.1, 5.2"))
    return "[day_types]\n" + _rows(rows)


def _evenings(answers: Answers) -> Mapping[tuple[str, ...], str]:
    """The name of the day type for each set of windows that some circuit has."""
    found: dict[tuple[str, ...], str] = {}
    for number, _ in enumerate(circuit_names(answers), start=1):
        name = f"usual_{number}" if found else "usual"
        found.setdefault(_windows(of_circuit(answers, number)), name)
    return found


def _windows(answers: Answers) -> tuple[str, ...]:
    evening = f"on from dusk until {answers['off']}"
    again = answers.get("again", NONE)
    return (evening,) if again == NONE else (evening, f"on from {again} until dawn")


def _circuit(answers: Answers, number: int, name: str, promises: Sequence[str]) -> str:
    def told(key: str) -> str:
        return answers[f"{number} {key}"]

    rows = [
        ("name", _quoted(name), "3.1"),
        ("channel", str(number), "the controller's output"),
    ]
    if told("lamps") != NONE:
        rows.append(("lamps", _quoted(told("lamps")), "3.2"))
    rows += [
        ("serves", _quoted(told("serves")), "3.3"),
        ("photocell", _quoted(told("photocell")), "3.4"),
        ("override_minutes", str(int(told("override"))), "3.5"),
        ("egress", _quoted(told("egress")), "3.6"),
    ]
    if answers["curfew"] != NONE:
        rows.append(("keep_dark", f"[{_quoted('every day: from ' + answers['curfew'])}]", "5.3"))
    text = "[[circuit]]\n" + _rows(rows) + _list("calendar", _calendar(answers, number), "6.2, 6.3")
    return text + (
        _list("promise", promises, "must come true, or no program is written") if promises else ""
    )


def _calendar(answers: Answers, number: int) -> list[str]:
    """The last line that names a date decides it."""
    lines = [f"every day: {_evenings(answers)[_windows(of_circuit(answers, number))]}"]
    if _has_holidays(answers):
        lines.append(f"holidays: {DARK_LINE}")
    if answers["closed"] != NONE:
        lines.append(f"{answers['closed']}: {DARK_LINE}")
    return lines


def _units(answers: Answers) -> Iterator[str]:
    where = () if answers["where"] == NONE else split(answers["where"])
    for label, place in zip_longest(split(answers["units"]), where):
        if label is not None:
            rows = [("label", _quoted(label), "2.1")]
            if place:
                rows.append(("where", _quoted(place), "2.2"))
            yield "[[unit]]\n" + _rows(rows)


def _rows(rows: Sequence[tuple[str, str, str]]) -> str:
    width = max(len(key) for key, _, _ in rows)
    lines = [(f"{key:<{width}} = {value}", remark) for key, value, remark in rows]
    return "".join(f"{line:<44}  # {remark}\n" for line, remark in lines)


def _list(key: str, lines: Sequence[str], remark: str) -> str:
    items = "".join(f"  {_quoted(line)},\n" for line in lines)
    return f"{key} = [  # {remark}\n{items}]\n"


def _quoted(text: str) -> str:
    """A basic string of TOML; JSON writes printable text the same way."""
    return json.dumps(text, ensure_ascii=False)
