"""The commands for what becomes of a program: copied, verified, compared."""

from __future__ import annotations

from typing import Annotated

import typer

from schedcomp.cli_output import AsJson, SiteFile, ask, give, now

Transfer = Annotated[str, typer.Argument(metavar="TRANSFER", help="The transfer.json of a build.")]


def add_to(app: typer.Typer) -> None:
    """Register these commands."""
    for command in (new, copy, verify, compare, hours):
        app.command()(command)


def copy(
    transfer: Transfer,
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Where the stick is; it must be there.")
    ],
    unit: Annotated[
        list[str] | None,
        typer.Option("--unit", metavar="LABEL", help="A unit it is for; may be repeated."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Put one program set on a stick, read it back and compare."""
    from schedcomp.answers import copy as answers

    request = answers.CopyRequest(transfer=transfer, folder=folder, units=tuple(unit or ()))
    give(answers.copy(request), "copy", as_json)


def verify(
    transfer: Annotated[
        str, typer.Argument(metavar="TRANSFER", help="A transfer.json, or the folder of a stick.")
    ],
    site: Annotated[
        str | None,
        typer.Option("--site", metavar="SITE", help="Also see whether this site still gives it."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check form, checksum and meaning of a transfer file, or of a set on a stick."""
    from schedcomp.answers import verify as answers

    give(answers.verify(transfer, site), "verify", as_json)


def compare(
    first: Annotated[
        str,
        typer.Argument(
            metavar="A", help="A transfer.json, events.csv, site file, or list of slots."
        ),
    ],
    second: Annotated[str, typer.Argument(metavar="B", help="Another of these.")],
    site: Annotated[
        str | None,
        typer.Option(
            "--site", metavar="SITE", help="Where it is, if neither file tells: a site file."
        ),
    ] = None,
    year: Annotated[
        str | None, typer.Option("--year", metavar="YEAR", help="The calendar year to compare.")
    ] = None,
    begin: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day of the period.")
    ] = None,
    through: Annotated[
        str | None, typer.Option("--through", metavar="DATE", help="Last day of the period.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell how the lamps of two programs differ: nights, minutes, kWh, slots.

    Without a period: that of the second transfer file, else of the first, else as `build`.
    """
    from schedcomp.answers import compare as answers

    request = answers.CompareRequest(
        first=first, second=second, site=site, year=year, begin=begin, through=through
    )
    give(answers.compare(request, now()), "compare", as_json)


def hours(
    site: SiteFile,
    since: Annotated[
        str, typer.Option("--since", metavar="DATE", help="First date, or the first reading.")
    ],
    until: Annotated[
        str, typer.Option("--until", metavar="DATE", help="Last date, or the second reading.")
    ],
    as_json: AsJson = False,
) -> None:
    """Tell the hours lit between two dates, to compare with a unit's hour counter.

    Both dates count whole; "2027-01-31 09:15" is the moment of a reading.
    """
    from schedcomp.answers import hours as answers

    give(answers.hours(site, since, until, now()), "hours", as_json)


def new(
    answer: Annotated[
        list[str] | None,
        typer.Option(
            "--answer", metavar="NAME=TEXT", help="An answer, as place=40.59 N, 105.08 W."
        ),
    ] = None,
    out: Annotated[
        str | None,
        typer.Option("--out", metavar="FILE.toml", help="The site file; left out, of its name."),
    ] = None,
    usual: Annotated[
        bool, typer.Option("--usual", help="Take the usual answer where none is given.")
    ] = False,
    paper: Annotated[
        bool, typer.Option("--paper", help="Print the blank form for a site walk and stop.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Ask for a site in the order of a site walk, write its file and build it."""
    from schedcomp.answers import new as answers

    request = answers.NewRequest(answers=tuple(answer or ()), out=out, usual=usual, paper=paper)
    give(answers.new(request, ask, now()), "new", as_json)
