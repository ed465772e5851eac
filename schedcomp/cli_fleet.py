"""The command for many sites at once, and the bar that shows how far it is."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, Annotated

import typer

from schedcomp.cli_output import AsJson, give, now, say

if TYPE_CHECKING:
    from schedcomp.fleet import Progress

BAR_WIDTH = 24
_SECONDS_BETWEEN = 0.2
_INTERRUPTED = 130


Sites = Annotated[
    str, typer.Argument(metavar="SITES", help="A folder of site files, or a store list (CSV).")
]
Year = Annotated[
    str | None, typer.Option("--year", metavar="YEAR", help="The calendar year to build for.")
]
Years = Annotated[
    str | None,
    typer.Option(
        "--years", metavar="YEAR-YEAR", help="Years that one program is to serve, 2027-2031."
    ),
]
First = Annotated[
    str | None, typer.Option("--from", metavar="DATE", help="First day of the period.")
]
Through = Annotated[
    str | None, typer.Option("--through", metavar="DATE", help="Last day of the period.")
]
Out = Annotated[
    str | None,
    typer.Option(
        "--out", metavar="DIR", help="Folder for the files; left out, it is named SITES-YEAR."
    ),
]
Template = Annotated[
    str | None,
    typer.Option("--template", metavar="SITE", help="Site file for rows that name no template."),
]
Against = Annotated[
    str | None,
    typer.Option(
        "--against",
        metavar="DIR",
        help="Folder of the run that the units hold: keep its slots, list what changed.",
    ),
]
Controller = Annotated[
    str | None,
    typer.Option(
        "--controller", metavar="NAME|FILE", help="A controller in place of every site's own."
    ),
]
Full = Annotated[
    bool,
    typer.Option("--full", help="Write the table, check, calendar and sheets of every site."),
]
Jobs = Annotated[
    str | None,
    typer.Option("--jobs", metavar="N", help="Processes at a time; left out, one a core."),
]


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(fleet)


def fleet(
    sites: Sites,
    year: Year = None,
    years: Years = None,
    first: First = None,
    through: Through = None,
    out: Out = None,
    template: Template = None,
    against: Against = None,
    controller: Controller = None,
    full: Full = False,
    jobs: Jobs = None,
    as_json: AsJson = False,
) -> None:
    """Build many sites on all cores, and list where somebody must drive.

    Given again after it was stopped, it goes on: sites whose input is unchanged stay as they are.
    """
    from schedcomp.fleet import answer as answers

    request = answers.FleetRequest(
        sites=sites,
        year=year,
        years=years,
        first=first,
        through=through,
        out=out,
        template=template,
        against=against,
        controller=controller,
        full=full,
        jobs=jobs,
    )
    bar = _Bar() if sys.stderr.isatty() else None
    try:
        answer = answers.fleet(request, now(), bar)
    except KeyboardInterrupt:
        from schedcomp.messages.fleet import STOPPED

        say(sys.stderr, f"{bar.cleared if bar else ''}{STOPPED}\n")
        raise typer.Exit(_INTERRUPTED) from None
    if bar:
        say(sys.stderr, bar.cleared)
    give(answer, "fleet", as_json)


class _Bar:
    """One line on the terminal that is written over: sites done, and the time left."""

    def __init__(self) -> None:
        self.begun = self.shown = time.monotonic()
        self.width = 0

    def __call__(self, progress: Progress) -> None:
        moment = time.monotonic()
        if moment - self.shown < _SECONDS_BETWEEN and progress.done < progress.total:
            return
        self.shown = moment
        line = bar_line(progress, moment - self.begun)
        say(sys.stderr, f"\r{line.ljust(self.width)}")
        self.width = len(line)

    @property
    def cleared(self) -> str:
        return f"\r{' ' * self.width}\r"


def bar_line(progress: Progress, seconds: float) -> str:
    """`[#####.....] 123 of 1,000, about 4 min left, 2 not ready`."""
    full = BAR_WIDTH * progress.done // max(1, progress.total)
    bar = f"[{'#' * full}{'.' * (BAR_WIDTH - full)}]"
    left = seconds * (progress.total - progress.done) / max(1, progress.done)
    told = f"about {left:.0f} s left" if left < 90 else f"about {left / 60:.0f} min left"
    line = f"{bar} {progress.done:,} of {progress.total:,}, {told}"
    return f"{line}, {progress.not_ready:,} not ready" if progress.not_ready else line
