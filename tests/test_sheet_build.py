"""The sheet among the files of a build."""

from __future__ import annotations

import subprocess
import sys
from datetime import date

import pytest

from schedcomp.answers import build
from schedcomp.answers.answer import USAGE
from schedcomp.answers.sheet import sheet_files
from schedcomp.compiled import Compiled
from schedcomp.diag import Source
from schedcomp.output.files import SET_NAMES
from schedcomp.sheet import facts, pdf
from tests import made_up
from tests.sheets import CODE

NOW = 1796304600
ALL = {"sheet.html", "sheet.pdf", "year_1.svg", "year_2.svg"}


def files(compiled: Compiled, text: str = "schedcomp = 1\n") -> tuple[set[str], str]:
    source = Source("lot.toml", text)
    made, found = sheet_files(compiled, source, CODE, (date(2027, 3, 1), None))
    assert set(made) <= set(SET_NAMES)
    return set(made), " ".join(f.code for f in found)


def test_the_files_of_a_sheet() -> None:
    assert files(made_up.WITH_SPECIAL_DAYS) == (ALL, "")
    assert files(made_up.NOT_FITTING) == (ALL, "")


def test_without_the_extra_package_there_is_the_html(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    assert not pdf.can_make_pdf()
    assert files(made_up.WITH_SPECIAL_DAYS) == (ALL - {"sheet.pdf"}, "E720")


def test_a_file_too_long_for_codes_is_told() -> None:
    text = "# " + "".join(f"{n * 2654435761 % 4294967296:08x}" for n in range(4000))
    assert files(made_up.WITH_SPECIAL_DAYS, text) == (ALL, "E721")


def test_more_drawings_than_files_stay_in_the_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(facts, "PICTURES", 1)
    made, _ = files(made_up.WITH_SPECIAL_DAYS)
    assert {name for name in made if name.endswith(".svg")} == {"year_1.svg"}


@pytest.mark.parametrize("day", ["03/04/2027", "1990-01-01", "soon"])
def test_a_day_of_putting_into_service_is_a_date(day: str) -> None:
    answer = build.build(build.BuildRequest(site="none.toml", year="2027", commission=day), NOW)
    assert answer.exit_code == USAGE
    assert "--commission" in answer.findings[0].fix


def test_libraries_of_the_sheet_are_loaded_only_when_one_is_made() -> None:
    names = {"typst", "jinja2", "segno", "markupsafe"}
    code = f"import schedcomp.answers.build, sys; sys.exit(bool({names} & sys.modules.keys()))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
