"""The sheet as one HTML file: for the screen, for a browser's printer, without any network."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from schedcomp.sheet.blocks import clean
from schedcomp.sheet.facts import SheetFacts

if TYPE_CHECKING:
    from jinja2 import Template
    from markupsafe import Markup

_LINE_SEPARATORS = {"\u2028": "\\u2028", "\u2029": "\\u2029"}


def sheet_html(facts: SheetFacts) -> bytes:
    """The whole file, UTF-8. Every text is escaped; the drawings are our own."""
    text = html_template(_data("sheet.html")).render(
        sheet=facts,
        style=our_own(_data("sheet.css")),
        script=our_own(_data("sheet.js")),
        nights=our_own(inert_json(facts.nights)),
        svg=our_own,
    )
    return text.encode()


def inert_json(text: str) -> str:
    """JSON that cannot end the script element it stands in."""
    for letter, written in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026")):
        text = text.replace(letter, written)
    for letter, written in _LINE_SEPARATORS.items():
        text = text.replace(letter, written)
    return text


def _data(name: str) -> str:
    return files("schedcomp").joinpath("data", "sheet", name).read_text("utf-8")


@lru_cache(maxsize=4)
def html_template(text: str) -> Template:
    """A template in which every value is escaped, unless it is marked as our own."""
    from jinja2 import Environment, StrictUndefined

    env = Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined
    )
    env.filters["clean"] = clean
    return env.from_string(text)


def our_own(text: str) -> Markup:
    """A text of this package that is not to be escaped."""
    from markupsafe import Markup

    return Markup(text)
