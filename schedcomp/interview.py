"""The questions of a site walk, in its order; the paper form has the same ones and numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from schedcomp import interviewchecks as checks
from schedcomp.records import Record

Answers = Mapping[str, str]
"""Checked answers by key; those of circuits have the circuit's number in front: `2 lamps`."""

NONE, YES, NO, OWN = "none", "yes", "no", "own"


class Question(Record, kw_only=True):
    """One question. `usual` is what an empty answer means; None: an answer is needed.

    `check` says in a sentence why an answer cannot be, "" if it can; `asked` whether the question
    makes sense after the answers so far. One `of_circuit` is asked once for each circuit, and these
    three then see the answers of that circuit without its number.
    """

    number: str
    key: str
    text: str
    example: str
    check: Callable[[str, Answers], str]
    usual: Callable[[Answers], str | None]
    asked: Callable[[Answers], bool] = lambda _: True
    lines: int = 1
    of_circuit: bool = False


SECTIONS: Mapping[str, str] = MappingProxyType(
    {
        "1": "The place",
        "2": "The panel",
        "3": "The circuits",
        "4": "Hours and staff",
        "5": "Light and curfew",
        "6": "Closed days",
        "7": "The controller, by its menu",
    }
)


def _always(text: str | None) -> Callable[[Answers], str | None]:
    return lambda _: text


def _has_hours(answers: Answers) -> bool:
    return any(answers.get(key, NONE) not in ("", NONE, "closed") for key in checks.HOURS_KEYS)


def _is_own(answers: Answers) -> bool:
    return answers.get("controller") == OWN


QUESTIONS: tuple[Question, ...] = (
    Question(
        number="1.1",
        key="name",
        text="What is the site called?",
        example="Corner pharmacy, lot",
        check=checks.text_needed,
        usual=_always(None),
    ),
    Question(
        number="1.2",
        key="place",
        text="Where is it? Coordinates of the panel, or the nearest town.",
        example="40.5853 N, 105.0844 W",
        check=checks.place,
        usual=_always(None),
    ),
    Question(
        number="1.3",
        key="zone",
        text="Which time zone does the clock on the wall follow?",
        example="America/Denver",
        check=checks.zone,
        usual=lambda answers: checks.usual_zone(answers.get("place", "")),
    ),
    Question(
        number="2.1",
        key="units",
        text="Labels of the time switches that get this program, with semicolons.",
        example="Panel A; Panel B",
        check=checks.names,
        usual=_always("Panel A"),
    ),
    Question(
        number="2.2",
        key="where",
        text="Where does each hang? In the same order, with semicolons.",
        example="dock, north wall; pole 14",
        check=checks.text,
        usual=_always(NONE),
    ),
    Question(
        number="3.1",
        key="circuits",
        text="Names of the circuits, one for each contactor, with semicolons; channel 1 first.",
        example="Lot poles; Sign",
        check=checks.names,
        usual=_always(None),
        lines=2,
    ),
    Question(
        number="3.2",
        key="lamps",
        text="How many lamps, and how many watts each?",
        example="12 x 160 W",
        check=checks.lamps,
        usual=_always(NONE),
        of_circuit=True,
    ),
    Question(
        number="3.3",
        key="serves",
        text="What is it for: people, sign, facade or decoration?",
        example="people",
        check=checks.choice("people", "sign", "facade", "decoration"),
        usual=_always("people"),
        of_circuit=True,
    ),
    Question(
        number="3.4",
        key="photocell",
        text="Is there a photocell: none, series (clock and dark), parallel (clock or dark), "
        "in each lamp head?",
        example="none",
        check=checks.choice("none", "series", "parallel", "in each lamp head"),
        usual=_always(NONE),
        of_circuit=True,
    ),
    Question(
        number="3.5",
        key="override",
        text="How many minutes can a hand switch hold it on at most? 0 for no such switch.",
        example="0",
        check=checks.minutes,
        usual=_always("0"),
        of_circuit=True,
    ),
    Question(
        number="3.6",
        key="egress",
        text="Where is the egress and emergency lighting fed? It must not be on this circuit.",
        example="separate, always on: panel E, breaker 3",
        check=checks.text,
        usual=_always("unknown"),
        of_circuit=True,
    ),
    Question(
        number="4.1",
        key="mon-fri",
        text="Open on weekdays from and until, or closed; none if hours do not matter.",
        example="08:00-20:00",
        check=checks.hours,
        usual=_always(NONE),
    ),
    Question(
        number="4.2",
        key="sat",
        text="Open on Saturdays?",
        example="09:00-17:00",
        check=checks.hours,
        usual=_always("closed"),
        asked=_has_hours,
    ),
    Question(
        number="4.3",
        key="sun",
        text="Open on Sundays?",
        example="closed",
        check=checks.hours,
        usual=_always("closed"),
        asked=_has_hours,
    ),
    Question(
        number="4.4",
        key="before",
        text="How many minutes before opening does staff arrive?",
        example="30",
        check=checks.minutes,
        usual=_always("30"),
        asked=_has_hours,
    ),
    Question(
        number="4.5",
        key="after",
        text="How many minutes after closing has staff left?",
        example="45",
        check=checks.minutes,
        usual=_always("30"),
        asked=_has_hours,
    ),
    Question(
        number="5.1",
        key="off",
        text="It comes on at dusk. Until when? A time, leave (staff has left), or dawn.",
        example="the later of leave and 21:00",
        check=checks.evening_end,
        usual=lambda answers: "leave" if _has_hours(answers) else "22:00",
        of_circuit=True,
    ),
    Question(
        number="5.2",
        key="again",
        text="From when is it on again before dawn? A time, arrive, or none.",
        example="arrive",
        check=checks.morning_start,
        usual=lambda answers: "arrive" if _has_hours(answers) else NONE,
        asked=lambda answers: answers.get("off") != "dawn",
        of_circuit=True,
    ),
    Question(
        number="5.3",
        key="curfew",
        text="Between which times must it be dark whatever else is asked?",
        example="23:00 until 05:00",
        check=checks.dark_times,
        usual=_always(NONE),
    ),
    Question(
        number="6.1",
        key="country",
        text="Whose public holidays matter? Two letters of the country, or none.",
        example="US",
        check=checks.country,
        usual=_always(NONE),
    ),
    Question(
        number="6.2",
        key="holidays",
        text="On which of them does nobody come? Names with semicolons, or all.",
        example="Thanksgiving; Christmas Day",
        check=checks.holidays,
        usual=_always("all"),
        asked=lambda answers: answers.get("country", NONE) != NONE,
    ),
    Question(
        number="6.3",
        key="closed",
        text="Other dates on which nobody comes.",
        example="dec 24, dec 31",
        check=checks.dates,
        usual=_always(NONE),
        lines=2,
    ),
    Question(
        number="7.1",
        key="controller",
        text="The built-in kind it is like, or own to tell its menu.",
        example="sun-yearly-64",
        check=checks.controller,
        usual=_always("sun-yearly-64"),
    ),
    Question(
        number="7.2",
        key="slots",
        text="How many events does its menu offer?",
        example="40",
        check=checks.count(999),
        usual=_always("28"),
        asked=_is_own,
    ),
    Question(
        number="7.3",
        key="channels",
        text="How many outputs has it?",
        example="2",
        check=checks.channels,
        usual=lambda answers: str(len(circuit_names(answers))),
        asked=_is_own,
    ),
    Question(
        number="7.4",
        key="sunset",
        text="Does an event offer sunrise and sunset besides clock times: yes or no?",
        example="yes",
        check=checks.choice(YES, NO),
        usual=_always(YES),
        asked=_is_own,
    ),
    Question(
        number="7.5",
        key="dates",
        text="Does an event offer a first and a last date of the year: yes or no?",
        example="no",
        check=checks.choice(YES, NO),
        usual=_always(NO),
        asked=_is_own,
    ),
)


def circuit_names(answers: Answers) -> tuple[str, ...]:
    return checks.split(answers.get("circuits", ""))


def asked_in_order(answers: Answers) -> Iterator[tuple[str, str, Question]]:
    """(key, name of the circuit or "", question) of each one that makes sense, as answers grow.

    One of circuits is asked for all of them before the next, as on the paper form.
    """
    for question in QUESTIONS:
        if not question.of_circuit:
            if question.asked(answers):
                yield question.key, "", question
            continue
        for number, name in enumerate(circuit_names(answers), start=1):
            if question.asked(of_circuit(answers, number)):
                yield f"{number} {question.key}", name, question


def of_circuit(answers: Answers, number: int) -> Answers:
    """The answers as the questions of one circuit see them: its own without the number."""
    before = f"{number} "
    own = {k.removeprefix(before): text for k, text in answers.items() if k.startswith(before)}
    return {**answers, **own}


def keys() -> tuple[str, ...]:
    """The keys as one would give them as options; those of circuits with the number 1."""
    return tuple(f"1 {q.key}" if q.of_circuit else q.key for q in QUESTIONS)
