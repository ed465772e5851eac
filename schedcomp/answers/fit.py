"""The answer to `fit`: slots against minutes, which controllers are enough, what to specify."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

from schedcomp import asked, controllerfile, pipeline, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.here import first_line, local_date, site_record, utc_date
from schedcomp.capacity import (
    MOST_MINUTES,
    USUAL_MOST_MINUTES,
    Wishes,
    curve,
    is_enough,
    tolerances_to,
    which_are_enough,
)
from schedcomp.capacity_report import CurvePoint, Enough, Shortfall, Specification
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic, Severity, in_order
from schedcomp.findings import unit_problems
from schedcomp.messages import capacity as messages
from schedcomp.model import Instant, Period
from schedcomp.ordinance.rules import asked_of_controller
from schedcomp.output.check_fit import shortfall_json
from schedcomp.output.curve import CurvePicture, curve_svg
from schedcomp.output.disk import replace_file, words_of
from schedcomp.records import Record, replace
from schedcomp.report import fit as report
from schedcomp.report.words import wrapped
from schedcomp.shortfall import shortfall_findings, shortfall_of
from schedcomp.site import Site
from schedcomp.site_controller import controller_of, with_controller
from schedcomp.specification import specification
from schedcomp.words import date_words

PICTURE_SUFFIX = ".svg"
EXAMPLE_PICTURE = "slots.svg"


class FitRequest(Record, kw_only=True):
    """What was typed after `fit`; None where an option was left out."""

    site: str
    year: str | None = None
    first: str | None = None
    through: str | None = None
    controller: str | None = None
    most_minutes: str | None = None
    picture: str | None = None

    @property
    def names_period(self) -> bool:
        return any(text is not None for text in (self.year, self.first, self.through))


class _Told(Record, kw_only=True):
    """Everything that was found out.

    `shortfall` is None where the controller holds a program, or lacks a channel, and then there
    are no `points`.
    """

    wishes: Wishes
    controller: Controller
    points: tuple[CurvePoint, ...]
    own: Enough
    others: tuple[Enough, ...]
    specification: Specification | None
    shortfall: Shortfall | None


def fit(request: FitRequest, now: Instant) -> Answer:
    """Slots against minutes for a site and its controller; writes nothing but the picture."""
    period, findings = asked.read_period(
        request.year, request.first, request.through, utc_date(now)
    )
    most_minutes, more = _read_most_minutes(request.most_minutes)
    findings = (*findings, *more, *_picture_problems(request.picture))
    if period is None or findings:
        return Answer(exit_code=USAGE, findings=findings)
    site, found = sitefile.load_site(request.site)
    if site is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    site = with_controller(site, request.controller)
    if not request.names_period:
        period = asked.default_period(local_date(site, now))
    controller, found = controller_of(site, request.controller)
    if controller is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    wishes, found = _wishes(site, period)
    if wishes is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    return _answer(request, _told(wishes, controller, most_minutes), now)


def _wishes(site: Site, period: Period) -> tuple[Wishes | None, Findings]:
    """What the wishes mean in the period; None with the problems that stand in the way."""
    ready, found = pipeline.ready(site, period)
    if ready is None:
        return None, in_order(f for f in found if f.severity is Severity.PROBLEM)
    return Wishes(ready.site, ready.world, ready.rules, ready.year), ()


def _told(wishes: Wishes, controller: Controller, most_minutes: int | None) -> _Told:
    wished = wishes.tolerance_minutes
    most = max(USUAL_MOST_MINUTES, wished) if most_minutes is None else most_minutes
    own = is_enough(wishes, controller)
    others = [c for c in _built_in() if c != controller]
    has_channels = own.missing_channel is None
    shortfall = None
    if has_channels and not own.holds:
        shortfall = shortfall_of(wishes, controller, own.tolerance_minutes, own.slots)
    tolerances = tolerances_to(most, wished) if has_channels else ()
    return _Told(
        wishes=wishes,
        controller=controller,
        points=curve(wishes, controller, tolerances),
        own=own,
        others=which_are_enough(wishes, others),
        specification=specification(wishes),
        shortfall=shortfall,
    )


def _built_in() -> Iterable[Controller]:
    for name in controllerfile.builtin_controllers():
        controller, findings = controllerfile.load_controller(name)
        if controller is None:
            raise RuntimeError(f"built-in controller {name}: {findings}")
        yield controller


def _answer(request: FitRequest, told: _Told, now: Instant) -> Answer:
    findings = _findings(told)
    if not told.points and request.picture is not None:
        name, channels = told.controller.name, told.controller.channels
        findings = (*findings, messages.NO_PICTURE.at(None, controller=name, channel=channels))
        request = replace(request, picture=None)
    if request.picture is not None:
        refused = _write_picture(Path(request.picture), curve_svg(_picture(told)))
        findings = (*findings, *refused)
        if refused:
            return Answer(exit_code=BAD_FILES, findings=findings)
    return Answer(
        exit_code=CLEAN if told.own.enough else FINDINGS,
        text=_text(request, told, now),
        record=_record(request, told),
        findings=findings,
    )


def _findings(told: _Told) -> Findings:
    if told.own.enough:
        return ()
    site, controller, shortfall = told.wishes.site, told.controller, told.shortfall
    if told.own.missing_channel is not None:
        return unit_problems(site, controller)
    problem = messages.NOT_ENOUGH.at(
        site.controller_at,
        controller=controller.name,
        why=f"{report.why_not_enough(told.own)}.",
        fix=_one_that_is_enough(told.others),
    )
    notes = () if shortfall is None else shortfall_findings(told.wishes, controller, shortfall)
    return (problem, *notes)


def _one_that_is_enough(others: Iterable[Enough]) -> str:
    """The built-in controller that is enough with the fewest slots, as it can be typed."""
    enough = [answer for answer in others if answer.enough]
    if not enough:
        return messages.NONE_BUILT_IN
    smallest = min(enough, key=lambda answer: answer.event_slots)
    return messages.USE_THIS.format(controller=smallest.controller)


def _text(request: FitRequest, told: _Told, now: Instant) -> str:
    wishes = told.wishes
    period = wishes.year.period
    head = [
        first_line(wishes.site, wishes.world, now),
        f"{date_words(period.first)} through {date_words(period.last)}",
    ]
    parts = [
        "\n".join(head) + "\n",
        *([report.curve_text(told.points, told.controller, wishes)] if told.points else []),
        report.enough_text((told.own, *told.others)),
        report.specification_text(told.specification, asked_of_controller(wishes.rules)),
    ]
    if request.picture is not None:
        parts.append(wrapped(f"The picture is in {Path(request.picture).as_posix()}.") + "\n")
    return "\n".join(parts)


def _record(request: FitRequest, told: _Told) -> dict[str, object]:
    wishes = told.wishes
    return {
        **site_record(wishes.site, wishes.world),
        "period": {
            "first": wishes.year.period.first.isoformat(),
            "last": wishes.year.period.last.isoformat(),
        },
        "controller": told.controller.name,
        "slots_of_controller": told.controller.event_slots,
        "slots_are": told.controller.slots_are,
        "favour": wishes.site.fit.favour,
        "tolerance_minutes": wishes.tolerance_minutes,
        "curve": report.curve_records(told.points),
        "controllers": report.enough_records((told.own, *told.others)),
        "specification": report.specification_record(
            told.specification, asked_of_controller(wishes.rules)
        ),
        "shortfall": shortfall_json(told.shortfall),
        "picture": None if request.picture is None else Path(request.picture).as_posix(),
    }


# What was typed


def _read_most_minutes(text: str | None) -> tuple[int | None, Findings]:
    """The widest tolerance of the table, in minutes; None where it was left out."""
    if text is None:
        return None, ()
    if re.fullmatch(r"[0-9]{1,3}", text) and 1 <= int(text) <= MOST_MINUTES:
        return int(text), ()
    return None, (
        messages.BAD_MINUTES.at(None, found=text, most=MOST_MINUTES, example=USUAL_MOST_MINUTES),
    )


def _picture_problems(name: str | None) -> Findings:
    """What can be seen to be wrong with the picture's name before the long work begins."""
    if name is None:
        return ()
    path = Path(name)
    if path.suffix.lower() != PICTURE_SUFFIX:
        example = f"{path.stem or 'slots'}{PICTURE_SUFFIX}"
        found = name or "An empty text"
        return (messages.NOT_NAMED_SVG.at(None, found=found, example=_typed(example)),)
    if os.path.isdir(path):
        return (_not_written(path, "a folder has this name"),)
    if not os.path.isdir(path.parent):
        return (_not_written(path, f"there is no folder {path.parent}"),)
    return ()


# The picture


def _picture(told: _Told) -> CurvePicture:
    wishes = told.wishes
    period = wishes.year.period
    return CurvePicture(
        site=wishes.site.name,
        period=f"{date_words(period.first)} through {date_words(period.last)}",
        controller=told.controller.name,
        slots=told.controller.event_slots,
        per_channel=told.controller.slots_are == "per channel",
        wished_minutes=wishes.tolerance_minutes,
        wished_words=report.wished_words(wishes),
        points=told.points,
    )


def _write_picture(path: Path, content: bytes) -> Findings:
    """Write a file as a whole or not at all."""
    try:
        replace_file(path, content)
    except (OSError, ValueError) as fault:
        return (_not_written(path, words_of(fault)),)
    return ()


def _not_written(path: Path, words: str) -> Diagnostic:
    return messages.PICTURE_NOT_WRITTEN.at(None, path=path, words=words, example=EXAMPLE_PICTURE)


def _typed(name: str) -> str:
    return f'"{name}"' if " " in name else name
