"""The commands: reads what was typed and the clock, prints answers, sets the exit code.

Exit codes: 0 clean, 1 findings, 2 usage, 3 problems in the files, 70 our own fault. Results go to
stdout and into files, findings to stderr; with --json both go to stdout as one record. The engine
is imported inside the commands, so that help comes at once.
"""

from __future__ import annotations

import io
import os
import sys
import traceback
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from schedcomp import cli_fleet, cli_stick
from schedcomp.cli_output import AsJson, SiteFile, give, now, say
from schedcomp.process import settle_for_speed

if TYPE_CHECKING:
    from collections.abc import Sequence

OUR_FAULT = 70
DEBUG_VARIABLE = "SCHEDCOMP_DEBUG"

app = typer.Typer(
    name="schedcomp",
    help="Compiles wishes for outdoor lights into a proven time-switch program.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)

ControllerName = Annotated[
    str | None,
    typer.Option(
        "--controller", metavar="NAME|FILE", help="A built-in controller, or a controller file."
    ),
]
Accept = Annotated[
    list[str] | None,
    typer.Option(
        "--accept", metavar="CLAUSE", help="A clause or promise that need not be met; repeatable."
    ),
]
Because = Annotated[
    list[str] | None,
    typer.Option("--because", metavar="TEXT", help="Why, one for each --accept."),
]


def main() -> None:
    """The console command; whatever goes wrong ends in a message and an exit code."""
    _settle_streams()
    settle_for_speed()
    try:
        app()
    except Exception as fault:
        sys.exit(_report_fault(fault))


def _show_version(wanted: bool) -> None:
    if wanted:
        from schedcomp import __version__

        typer.echo(f"schedcomp {__version__}")
        raise typer.Exit


@app.callback()
def common(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Print the version and stop."
        ),
    ] = False,
) -> None:
    """Compiles wishes for outdoor lights into a proven time-switch program."""


@app.command()
def build(
    site: SiteFile,
    year: Annotated[
        str | None, typer.Option("--year", metavar="YEAR", help="The calendar year to build for.")
    ] = None,
    years: Annotated[
        str | None,
        typer.Option(
            "--years", metavar="YEAR-YEAR", help="Years that one program is to serve, 2027-2031."
        ),
    ] = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day of the period.")
    ] = None,
    through: Annotated[
        str | None, typer.Option("--through", metavar="DATE", help="Last day of the period.")
    ] = None,
    out: Annotated[
        str | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the files; left out, it is named SITE-YEAR."
        ),
    ] = None,
    commission: Annotated[
        str | None,
        typer.Option(
            "--commission",
            metavar="DATE",
            help="Day of putting into service; the sheet then shows what to see from that day on.",
        ),
    ] = None,
    controller: ControllerName = None,
    accept: Accept = None,
    because: Because = None,
    as_json: AsJson = False,
) -> None:
    """Compile a site, test the program and write the files.

    Without a period: this calendar year, from October on the next one.
    """
    from schedcomp.answers import build as answers

    request = answers.BuildRequest(
        site=site,
        year=year,
        years=years,
        first=first,
        through=through,
        out=out,
        commission=commission,
        controller=controller,
        accept=tuple(accept or ()),
        because=tuple(because or ()),
    )
    give(answers.build(request, now()), "build", as_json)


@app.command()
def renew(
    site: SiteFile,
    old: Annotated[
        str, typer.Option("--from", metavar="FILE", help="The transfer.json that the units hold.")
    ],
    through: Annotated[
        str | None,
        typer.Option(
            "--through",
            metavar="DATE",
            help="Last day of the new program; left out, the end of the year after the old one.",
        ),
    ] = None,
    keyed: Annotated[
        str | None,
        typer.Option(
            "--keyed", metavar="DATE", help="The day it will be keyed in; left out, today."
        ),
    ] = None,
    out: Annotated[
        str | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the files; left out, it is named SITE-DATES."
        ),
    ] = None,
    controller: ControllerName = None,
    accept: Accept = None,
    because: Because = None,
    as_json: AsJson = False,
) -> None:
    """Renew an old program with as few slots to key as possible.

    It holds from the day after it is keyed in, and slots that stay keep their numbers.
    """
    from schedcomp.answers import renew as answers

    request = answers.RenewRequest(
        site=site,
        old=old,
        through=through,
        keyed=keyed,
        out=out,
        controller=controller,
        accept=tuple(accept or ()),
        because=tuple(because or ()),
    )
    give(answers.renew(request, now()), "renew", as_json)


@app.command()
def night(
    site: SiteFile,
    day: Annotated[
        str | None,
        typer.Argument(metavar="[DATE]", help="Date of the evening; left out, tonight."),
    ] = None,
    days: Annotated[str, typer.Option("--days", metavar="N", help="How many nights.")] = "1",
    as_json: AsJson = False,
) -> None:
    """Tell one night, from noon to noon: every switching and why."""
    from schedcomp.answers import moments as answers

    give(answers.night(site, day, days, now()), "night", as_json)


@app.command()
def why(
    site: SiteFile,
    moment: Annotated[
        list[str], typer.Argument(metavar="DATE TIME", help="Such as 2027-03-14 02:30.")
    ],
    paper: Annotated[
        bool, typer.Option("--paper", help="Half a page to answer a complaint with.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Tell why each circuit is lit or dark at one minute."""
    from schedcomp.answers import moments as answers

    give(answers.why(site, " ".join(moment), now(), paper=paper), "why", as_json)


@app.command()
def fit(
    site: SiteFile,
    year: Annotated[
        str | None, typer.Option("--year", metavar="YEAR", help="The calendar year to ask about.")
    ] = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day of the period.")
    ] = None,
    through: Annotated[
        str | None, typer.Option("--through", metavar="DATE", help="Last day of the period.")
    ] = None,
    controller: ControllerName = None,
    to: Annotated[
        str | None,
        typer.Option("--to", metavar="MINUTES", help="The widest tolerance to ask for."),
    ] = None,
    picture: Annotated[
        str | None,
        typer.Option("--picture", metavar="FILE.svg", help="Draw slots against minutes, too."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell slots against minutes, which controllers are enough, and what to specify.

    Without a period: as `build`. No program is written.
    """
    from schedcomp.answers import fit as answers

    request = answers.FitRequest(
        site=site,
        year=year,
        first=first,
        through=through,
        controller=controller,
        most_minutes=to,
        picture=picture,
    )
    give(answers.fit(request, now()), "fit", as_json)


@app.command()
def check(
    site: Annotated[
        str | None, typer.Argument(metavar="[SITE]", help="The site file (TOML).")
    ] = None,
    year: Annotated[
        str | None, typer.Option("--year", metavar="YEAR", help="The calendar year to check.")
    ] = None,
    years: Annotated[
        str | None, typer.Option("--years", metavar="YEAR-YEAR", help="Several, 2027-2036.")
    ] = None,
    transfer: Annotated[
        str | None,
        typer.Option("--transfer", metavar="FILE", help="Check this program, not a new one."),
    ] = None,
    ordinance: Annotated[
        list[str] | None,
        typer.Option("--ordinance", metavar="NAME|FILE", help="Check this rule; repeatable."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Judge every clause of the rules, night by night, and people.

    Without SITE: the program of a transfer file alone.
    """
    from schedcomp.answers import check as answers

    request = answers.CheckRequest(
        site=site,
        year=year,
        years=years,
        transfer=transfer,
        ordinances=tuple(ordinance or ()),
        every_night=as_json,
    )
    give(answers.check(request, now()), "check", as_json)


@app.command()
def controllers(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Show all properties of this one.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the built-in controllers, or show one in full."""
    from schedcomp.answers import controllers as answers

    give(answers.controllers(name), "controllers", as_json)


@app.command()
def recover(
    texts: Annotated[
        list[str], typer.Argument(metavar="TEXT...", help="The texts of all codes, as scanned.")
    ],
    out: Annotated[
        str | None,
        typer.Option("--out", metavar="FILE", help="A new file; left out, the text is printed."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Make the site file again from the codes at the end of its sheet."""
    from schedcomp.answers import recover as answers

    give(answers.recover(texts, out), "recover", as_json)


@app.command()
def ordinances(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Read this rule back: a name or a file.")
    ] = None,
    site: Annotated[
        str | None, typer.Option("--site", metavar="SITE", help="Show its hours at this site.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the built-in rules, or read one back in words and hours."""
    from schedcomp.answers import ordinances as answers

    give(answers.ordinances(name, site, now()), "ordinances", as_json)


@app.command()
def explain(
    code: Annotated[
        str | None,
        typer.Argument(metavar="[TOPIC]", help="The code of a message, such as E104, or a topic."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Explain a message by its code, or what can be written (`explain dates`); list all."""
    from schedcomp.answers import explain as answers

    give(answers.explain(code), "explain", as_json)


cli_stick.add_to(app)
cli_fleet.add_to(app)


def _settle_streams() -> None:
    """Characters that a terminal cannot show become `?` and never stop an answer."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _report_fault(fault: Exception) -> int:
    """Say that this is our mistake; the steps that led there only where they are asked for."""
    from schedcomp import __version__, diag
    from schedcomp.messages.commands import OUR_FAULT as MESSAGE

    if os.environ.get(DEBUG_VARIABLE):
        traceback.print_exception(fault)
    finding = MESSAGE.at(
        None,
        version=__version__,
        step=_place(traceback.extract_tb(fault.__traceback__)),
        what=type(fault).__name__,
    )
    say(sys.stderr, diag.render_one(finding) + "\n")
    return OUR_FAULT


def _place(steps: Sequence[traceback.FrameSummary]) -> str:
    """The last step inside this package: `fit/solver.py line 88`."""
    package = Path(__file__).parent
    ours = [step for step in steps if package in Path(step.filename).parents]
    if not ours:
        return "outside the package"
    return f"{Path(ours[-1].filename).relative_to(package).as_posix()} line {ours[-1].lineno}"
