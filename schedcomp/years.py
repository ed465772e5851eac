"""For how many years in a row one program can be right, where it cannot be for all asked for."""

from __future__ import annotations

from datetime import date

from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.later import good_until
from schedcomp.messages import renewing as messages
from schedcomp.model import Period
from schedcomp.pipeline import compile as compile_site
from schedcomp.records import Record
from schedcomp.site import Site
from schedcomp.words import date_words


class LongestRun(Record):
    """`years` from the first on go together, and their compilation; one more do not.

    `fits` is None where not even the first year alone has a program.
    """

    years: int
    fits: Compiled | None
    too_long: Compiled


def longest_run(site: Site, controller: Controller, failed: Compiled) -> LongestRun:
    """The most whole years from the first of a period on that one program can serve.

    `failed` is the compilation of the whole period, without a program. What serves some years
    serves fewer of them too, so the number is found by halving: at most four more compilations
    for ten years.
    """
    first = failed.year.period.first
    fits, too_long = None, failed
    low, high = 0, failed.year.period.last.year - first.year + 1
    while high - low > 1:
        middle = (low + high) // 2
        tried = _compiled(site, controller, first, middle)
        if tried is None:
            return LongestRun(low, fits, too_long)
        if tried.fitted.program is None:
            high, too_long = middle, tried
        else:
            low, fits = middle, tried
    return LongestRun(low, fits, too_long)


def years_findings(site: Site, controller: Controller, failed: Compiled) -> tuple[Diagnostic, ...]:
    """For how many years one program does, and what stands in the way of more.

    Nothing where not even the first year has a program: then the years are not to blame.
    """
    run = longest_run(site, controller, failed)
    if run.fits is None:
        return ()
    first, last = failed.year.period.first.year, failed.year.period.last.year
    end = first + run.years - 1
    option = f"--year {first}" if run.years == 1 else f"--years {first}-{end}"
    finding = messages.YEARS_NOT_TOGETHER.at(
        site.controller_at,
        first=first,
        last=last,
        possible=_years_words(first, end),
        obstacle=_obstacle(run, _years_words(first, end), end + 1),
        typed=option,
    )
    return (finding,)


def _compiled(site: Site, controller: Controller, first: date, years: int) -> Compiled | None:
    period = Period(first, date(first.year + years - 1, 12, 31))
    compiled, _ = compile_site(site, period, controller)
    return compiled


def _years_words(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"


def _obstacle(run: LongestRun, possible: str, year: int) -> str:
    """What keeps the next year out, and where the program would go wrong in it."""
    fitted, controller = run.too_long.fitted, run.too_long.controller
    told = []
    if run.too_long.year.period.last.year == year:
        for circuit, switchings in fitted.out_of_reach[:1]:
            told.append(
                messages.OBSTACLE_REACH.format(
                    year=year,
                    controller=controller.name,
                    circuit=circuit,
                    action=switchings[0].action.value,
                    phrase=switchings[0].reason.phrase,
                    day=date_words(switchings[0].reason.date),
                    line=switchings[0].reason.line,
                )
            )
        if fitted.slots_needed is not None:
            told.append(
                messages.OBSTACLE_SLOTS.format(
                    year=year,
                    needed=fitted.slots_needed,
                    controller=controller.name,
                    slots=controller.event_slots,
                )
            )
    return "\n".join([*told, *_goes_wrong(run.fits, possible)])


def _goes_wrong(fits: Compiled | None, possible: str) -> list[str]:
    if fits is None or fits.fitted.program is None:
        return []
    found = good_until(
        fits.site,
        fits.controller,
        fits.fitted.program,
        fits.world,
        fits.year,
        fits.fitted.tolerance_minutes,
    )
    wrong = found.wrong
    if wrong is None:
        return []
    return [
        messages.OBSTACLE_LATER.format(
            possible=possible,
            day=date_words(wrong.day),
            circuit=wrong.circuit,
            what=wrong.what,
            cause=wrong.cause,
        )
    ]
