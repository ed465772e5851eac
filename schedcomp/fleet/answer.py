"""The answer to `fleet`: build many sites, tell what came out and where somebody must drive."""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from pathlib import Path

from schedcomp import asked
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.here import utc_date
from schedcomp.fleet.lists import counts, summary_record, worklist
from schedcomp.fleet.outcome import FAULT, READY, UNREADABLE, Outcome
from schedcomp.fleet.whole import MOST_TOLD, Fleet, Tell, run
from schedcomp.messages import fleet as messages
from schedcomp.model import Instant
from schedcomp.records import Record
from schedcomp.report.words import wrapped
from schedcomp.words import counted, date_words, join_and

OUR_FAULT = 70
MOST_PROCESSES = 1000
MOST_LINES = 20
_WIDTHS = (10, 18, 20, 9, 8)


class FleetRequest(Record, kw_only=True):
    """What was typed after `fleet`; None where an option was left out."""

    sites: str
    year: str | None = None
    years: str | None = None
    first: str | None = None
    through: str | None = None
    out: str | None = None
    template: str | None = None
    against: str | None = None
    controller: str | None = None
    full: bool = False
    jobs: str | None = None


def fleet(request: FleetRequest, now: Instant, tell: Tell | None = None) -> Answer:
    """Build every site of a folder or store list; `tell` hears how far it is."""
    today = utc_date(now)
    period, found = asked.read_period(
        request.year, request.first, request.through, today, request.years
    )
    jobs, more = _processes(request.jobs)
    found = (*found, *more)
    if period is None or found:
        return Answer(exit_code=USAGE, findings=found)
    begun = time.monotonic()
    made, found = run(
        request.sites,
        period=period,
        out=request.out or f"{Path(request.sites).stem or 'fleet'}-{asked.period_name(period)}",
        template=request.template,
        against=request.against,
        controller=request.controller,
        full=request.full,
        workers=jobs,
        made_on=today,
        tell=tell,
    )
    if made is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    return Answer(
        exit_code=_exit_code(made.outcomes),
        text=fleet_text(made, time.monotonic() - begun),
        record={
            **summary_record(made.order, made.outcomes),
            "built": made.built,
            "gone": made.gone,
            "folder": made.order.out,
            "files": list(made.names),
        },
        findings=found,
    )


def _processes(text: str | None) -> tuple[int | None, Findings]:
    if text is None:
        return None, ()
    if re.fullmatch(r"[0-9]{1,4}", text) and 1 <= int(text) <= MOST_PROCESSES:
        return int(text), ()
    return None, (messages.BAD_JOBS.at(None, found=text or "Nothing", most=MOST_PROCESSES),)


def _exit_code(outcomes: Sequence[Outcome]) -> int:
    statuses = {outcome.status for outcome in outcomes}
    if FAULT in statuses:
        return OUR_FAULT
    if UNREADABLE in statuses:
        return BAD_FILES
    return CLEAN if statuses == {READY} else FINDINGS


def fleet_text(made: Fleet, seconds: float) -> str:
    """What the terminal shows: a table, the problems of some sites, and the figures."""
    parts = [_table(made.outcomes), *_told(made.outcomes), _figures(made, seconds)]
    return "\n".join(part for part in parts if part)


def _table(outcomes: Sequence[Outcome]) -> str:
    """Sites that are not ready come first where not all can be shown."""
    shown = sorted(outcomes, key=lambda o: (o.status == READY, o.number))[:MOST_LINES]
    shown.sort(key=lambda o: o.number)
    lines = [_line(("site", "name", "program", "code", "slots", "good until"))]
    for o in shown:
        slots = "" if o.slots_used is None else f"{o.slots_used} of {o.slots_of}"
        lines.append(_line((o.site_id, o.name, o.status, o.code, slots, o.good_until)))
    left = len(outcomes) - len(shown)
    if left:
        lines.append(f"and {left:,} more, in summary.csv")
    return "\n".join(lines) + "\n"


def _line(cells: Sequence[str]) -> str:
    """Cells that are too long are cut; signs that would move the cursor are shown as ?."""
    plain = ["".join(c if c.isprintable() else "?" for c in cell) for cell in cells]
    fixed = [_cut(cell, width).ljust(width) for cell, width in zip(plain, _WIDTHS, strict=False)]
    return " ".join([*fixed, *plain[len(_WIDTHS) :]]).rstrip()


def _cut(cell: str, width: int) -> str:
    """In the middle: shops of a chain begin alike."""
    if len(cell) <= width:
        return cell
    tail = width // 2
    return f"{cell[: width - tail - 1]}…{cell[-tail:]}"


def _told(outcomes: Sequence[Outcome]) -> list[str]:
    told = [o for o in outcomes if o.told]
    parts = [f"{o.site_id}: {o.status}\n\n{o.told}" for o in told]
    wrong = sum(o.status != READY for o in outcomes)
    if wrong > len(told):
        parts.append(f"Shown: {MOST_TOLD} of {wrong:,} sites; the rest is in summary.json.\n")
    return parts


def _figures(made: Fleet, seconds: float) -> str:
    outcomes = made.outcomes
    by_status = [f"{status} {count:,}" for status, count in counts(outcomes).items()]
    done = f"{counted(len(outcomes), 'site')}: {join_and(by_status)}"
    if made.left:
        done += f"; {made.left:,} unchanged since an earlier run"
    due = worklist(outcomes)
    period = made.order.period
    lines = [
        wrapped(done, "Sites       "),
        wrapped(f"{date_words(period.first)} through {date_words(period.last)}", "Period      "),
    ]
    if due:
        slots = counted(sum(o.add + o.change + o.erase for o in due), "slot")
        first = f"{counted(len(due), 'site')}, {slots} to key; the first by {due[0].visit_by}"
        lines.append(wrapped(f"{first}: {due[0].site_id}", "Drive to    "))
    elif made.order.against:
        lines.append(wrapped("nowhere: no program changed", "Drive to    "))
    if made.gone:
        gone = f"{counted(made.gone, 'site')} of the earlier run not in this one"
        lines.append(wrapped(gone, "Gone        "))
    files = f"{', '.join(made.names)} in {made.order.out}; each site in its folder sites"
    lines.append(wrapped(files, "Files       "))
    lines.append(wrapped(_pace(made.built, seconds), "Time        "))
    lines.append(wrapped(messages.SAFETY, "Safety      "))
    return "\n".join(lines) + "\n"


def _pace(built: int, seconds: float) -> str:
    spent = f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
    return f"{spent}, {counted(built, 'site')} built"
