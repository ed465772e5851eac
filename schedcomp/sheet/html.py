"""The sheet as one HTML file: for the screen, for a browser's printer, without any network."""

from __future__ import annotations

import json
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from schedcomp.sheet.blocks import breakable, clean
from schedcomp.sheet.facts import SheetFacts
from schedcomp.sheet.letters import font_faces
from schedcomp.sheet.plain import plain

if TYPE_CHECKING:
    from jinja2 import Template

_LINE_SEPARATORS = {"\u2028": "\\u2028", "\u2029": "\\u2029"}


def sheet_html(facts: SheetFacts) -> bytes:
    """The whole file, UTF-8. Every text is escaped; the drawings are our own."""
    from markupsafe import Markup

    shown = json.dumps(plain((facts.title, facts.place, facts.pages)), ensure_ascii=False)
    text = _template().render(
        sheet=facts,
        style=Markup(_data("sheet.css") + font_faces(shown)),
        script=Markup(_data("sheet.js")),
        nights=Markup(inert_json(facts.nights)),
        svg=Markup,
    )
    return text.encode()


def inert_json(text: str) -> str:
    """JSON that cannot end the script element it stands in."""
    for letter, written in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026")):
        text = text.replace(letter, written)
    for letter, written in _LINE_SEPARATORS.items():
        text = text.replace(letter, written)
    return text


def _shown(text: str) -> str:
    return breakable(clean(text))


def _data(name: str) -> str:
    return files("schedcomp").joinpath("data", "sheet", name).read_text("utf-8")


@lru_cache(maxsize=1)
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    env = Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined
    )
    env.filters["clean"] = clean
    env.filters["shown"] = _shown
    return env.from_string(_data("sheet.html"))
