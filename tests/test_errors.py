"""The wording of every message as a set: codes, templates, plain words, and the explain pages."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

import schedcomp
from schedcomp import diag, explain
from schedcomp.diag import Severity
from schedcomp.messages import registry
from schedcomp.messages.kind import Kind, problem

KINDS = registry.every_kind()
EACH_KIND = pytest.mark.parametrize("kind", KINDS, ids=[kind.code for kind in KINDS])

PROGRAMMERS_WORDS = re.compile(
    r"(?i)\b(tokens?|pars(e|er|es|ed|ing)|syntax|null|invalid|exceptions?|identifiers?|integers?"
    r"|illegal|lawful|unlawful)\b"
)


def sentences(kind: Kind) -> Iterator[str]:
    """What is told, without what is quoted from files and what is to be typed."""
    for text in (kind.title, kind.why, kind.fix.partition("\n")[0], kind.page):
        yield re.sub(r"`[^`]*`|\"[^\"]*\"", "", text)


def fields(template: str) -> list[str]:
    return [name for _, name, _, _ in Formatter().parse(template) if name is not None]


def filled(template: str) -> str:
    return template.format(**dict.fromkeys(fields(template), "xx"))


def test_two_messages_with_one_code_are_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    first, second = problem("E199", "one"), problem("E199", "two")
    monkeypatch.setattr(registry, "kinds_by_module", lambda: {"a": (first,), "b": (second,)})
    with pytest.raises(RuntimeError, match="E199"):
        registry.every_kind()


def test_one_message_seen_from_two_modules_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    shared = problem("E199", "one")
    monkeypatch.setattr(registry, "kinds_by_module", lambda: {"a": (shared,), "b": (shared,)})
    assert registry.every_kind() == (shared,)


def test_every_stage_has_messages() -> None:
    assert {kind.code[:2] for kind in KINDS} <= set(explain.GROUPS)
    assert {"E1", "E2", "E3", "E6", "E7", "E8", "E9"} <= {kind.code[:2] for kind in KINDS}


@EACH_KIND
def test_codes_are_a_letter_and_three_figures(kind: Kind) -> None:
    assert re.fullmatch(r"E[1-9][0-9]{2}", kind.code)
    assert kind.code.startswith("E9") == (kind.severity is Severity.FAULT)


@EACH_KIND
def test_templates_have_only_named_fields(kind: Kind) -> None:
    for template in (kind.title, kind.why, kind.fix):
        assert all(name.isidentifier() for name in fields(template)), template
        assert "{" not in re.sub(r"\{\{|\}\}", "", re.sub(r"\{[a-z_0-9]+\}", "", template))
        filled(template)


@EACH_KIND
def test_plain_words(kind: Kind) -> None:
    for text in sentences(kind):
        told = re.sub(r"\{[a-z_0-9]+\}", "", text)
        assert not PROGRAMMERS_WORDS.search(told), told
        assert "!" not in told


@EACH_KIND
def test_the_bottom_line_is_one_line(kind: Kind) -> None:
    assert kind.title
    assert "\n" not in kind.title
    assert kind.title == kind.title.strip()


@EACH_KIND
def test_says_what_it_means_or_what_to_type(kind: Kind) -> None:
    if kind.severity is not Severity.NOTE:
        assert kind.why or kind.fix


@EACH_KIND
def test_prints_within_80_columns(kind: Kind) -> None:
    shown = diag.render_one(example(kind, "Lot poles"))
    page = explain.page(kind)
    for line in (shown + "\n" + page).splitlines():
        assert len(line) <= diag.WIDTH or " " not in line.strip() or line.startswith("    "), line


@EACH_KIND
def test_the_page_shows_no_template_signs(kind: Kind) -> None:
    page = explain.page(kind)
    assert page.startswith(f"{kind.severity.value} {kind.code}: ")
    assert not re.search(r"\{[a-z_0-9]+\}", page)
    assert ("More: schedcomp explain" in diag.render_one(example(kind))) == bool(kind.page)


def example(kind: Kind, value: str = "xx") -> diag.Diagnostic:
    """The message with one value in every field."""
    names = fields(kind.title) + fields(kind.why) + fields(kind.fix)
    values: dict[str, Any] = dict.fromkeys(names, value)
    return kind.at(None, **values)


def test_every_message_module_is_documented_and_wording_stands_only_there() -> None:
    for name in registry.kinds_by_module():
        assert import_module(f"schedcomp.messages.{name}").__doc__, name
    package = Path(schedcomp.__file__).parent
    for path in package.rglob("*.py"):
        if path.parent.name != "messages":
            text = path.read_text(encoding="utf-8")
            assert not re.search(r"\b(problem|caution|note|fault)\(\s*\"E[0-9]", text), path


def test_every_message_is_used() -> None:
    package = Path(schedcomp.__file__).parent
    words: Counter[str] = Counter()
    for path in package.rglob("*.py"):
        words.update(re.findall(r"\w+", path.read_text(encoding="utf-8")))
    for module in registry.kinds_by_module():
        names = vars(import_module(f"schedcomp.messages.{module}"))
        for name, value in names.items():
            if isinstance(value, Kind):
                assert words[name] > 1, f"{module}.{name} is never used"


def test_codes_are_read_as_people_type_them() -> None:
    assert explain.normal_code(" e104 ") == "E104"
    assert explain.normal_code("104") == "E104"
    assert explain.normal_code("x") == "X"


def test_near_codes_are_the_closest_numbers() -> None:
    kinds = [problem(code, code) for code in ("E101", "E104", "E110", "E230", "E999")]
    assert [k.code for k in explain.near_codes("E105", kinds)] == ["E104", "E101", "E110", "E230"]
    assert explain.near_codes("lamp", kinds) == ()


def test_variable_parts_are_shown_as_dots() -> None:
    assert explain.wording("{found} has {{1}} slot") == "… has {1} slot"
