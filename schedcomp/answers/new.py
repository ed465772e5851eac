"""The answer to `new`: questions in the order of a site walk, a site file, and its first build."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from schedcomp import asked
from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer, Findings
from schedcomp.answers.build import BuildRequest, build
from schedcomp.answers.here import local_date, utc_date
from schedcomp.diag import Diagnostic, Source, has_problem
from schedcomp.interview import NO, QUESTIONS, YES, Question, asked_in_order, keys, of_circuit
from schedcomp.messages import interview as messages
from schedcomp.model import Instant, Period
from schedcomp.near import near_words, quoted
from schedcomp.newpromises import promises_for
from schedcomp.newsite import controller_file_name, controller_text, file_stem, site_text
from schedcomp.output.disk import replace_together, words_of
from schedcomp.records import Record
from schedcomp.sitefile import site_from_source
from schedcomp.surveyform import survey_form
from schedcomp.words import join_and, join_or

Ask = Callable[[str], str | None]
"""Shows a question and gives the line that was typed, None at the end of the input."""

REPLACE_KEY = "replace"


class NewRequest(Record, kw_only=True):
    """What was typed after `new`. `answers` are `key=value`; `out` is the site file's name."""

    answers: tuple[str, ...] = ()
    out: str | None = None
    usual: bool = False
    paper: bool = False


class _Stop(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """Carries why the questions ended up to `new`."""

    def __init__(self, finding: Diagnostic) -> None:
        super().__init__(finding.title)
        self.finding = finding


def new(request: NewRequest, ask: Ask, now: Instant) -> Answer:
    """Ask, write a site file and build it; without all answers nothing is written at all."""
    if request.paper:
        form = survey_form()
        return Answer(exit_code=CLEAN, text=form, record={"form": form.splitlines()})
    given, found = _given(request.answers)
    if found:
        return Answer(exit_code=USAGE, findings=found)
    try:
        answers = _asked(request, given, ask)
        folder, stem = _place_of(request, answers)
        files, period, found = _files(answers, folder, stem, now)
        if found:
            return Answer(exit_code=BAD_FILES, findings=found)
        build_folder = folder / f"{stem}-{asked.period_name(period)}"
        _allow(given, request, ask, [*files, build_folder])
        _write(files)
    except _Stop as stop:
        return Answer(exit_code=USAGE, findings=(stop.finding,))
    site_path = next(iter(files))
    request_to_build = BuildRequest(
        site=str(site_path),
        first=period.first.isoformat(),
        through=period.last.isoformat(),
        out=str(build_folder),
    )
    built = build(request_to_build, now)
    names = join_and([path.as_posix() for path in files])
    return Answer(
        exit_code=built.exit_code,
        text=f"Written: {names}\n\n{built.text}",
        record={
            **built.record,
            "site_file": site_path.as_posix(),
            "written": [path.as_posix() for path in files],
        },
        findings=built.findings,
    )


# Answers given as options


def _given(options: Sequence[str]) -> tuple[dict[str, str], Findings]:
    """The answers of `--answer`, by key; the last one of a key counts.

    One of a circuit without a number is for all circuits that have none of their own.
    """
    given: dict[str, str] = {}
    found: list[Diagnostic] = []
    for option in options:
        key, equals, value = option.partition("=")
        key = " ".join(key.split()).lower()
        what = messages.NOT_KEY_VALUE if not equals else _unknown_key(key)
        if what:
            found.append(
                messages.NOT_AN_ANSWER.at(
                    None, found=quoted(option) or "Nothing", key=key, what=what, example="..."
                )
            )
        given[key] = value.strip()
    return given, tuple(found)


def _unknown_key(key: str) -> str:
    number, _, rest = key.partition(" ")
    known = (*keys(), REPLACE_KEY)
    same = f"1 {rest}" if number.isascii() and number.isdigit() and rest else key
    if same in known or any(q.of_circuit and q.key == key for q in QUESTIONS):
        return ""
    near = near_words(key, known)
    told = f"Did you mean {join_or(list(near))}? " if near else ""
    return messages.NO_QUESTION.format(near=told, known=", ".join(known))


# Asking


def _asked(request: NewRequest, given: Mapping[str, str], ask: Ask) -> dict[str, str]:
    """Every answer, checked; raises _Stop where there is none to be had."""
    answers: dict[str, str] = {}
    for key, circuit, question in asked_in_order(answers):
        seen = of_circuit(answers, int(key.split()[0])) if question.of_circuit else answers
        option = key if key in given else question.key
        if option in given:
            answers[key] = _checked_option(option, given[option], question, seen)
        elif request.usual and question.usual(seen) is not None:
            answers[key] = question.usual(seen) or ""
        elif request.usual:
            raise _stop(key, question.number, messages.NO_USUAL)
        else:
            answers[key] = _typed(key, circuit, question, seen, ask)
    return answers


def _checked_option(key: str, value: str, question: Question, answers: Mapping[str, str]) -> str:
    usual = question.usual(answers)
    answer = value or usual or ""
    what = question.check(answer, answers)
    if what:
        finding = messages.NOT_AN_ANSWER.at(
            None,
            found=quoted(value) or "Nothing",
            key=key,
            what=what,
            example=question.example,
        )
        raise _Stop(finding)
    return answer


def _typed(key: str, circuit: str, question: Question, answers: Mapping[str, str], ask: Ask) -> str:
    """Ask until an answer can be; an empty line is the usual answer."""
    usual = question.usual(answers)
    told = f"[{usual}]" if usual is not None else f"such as {question.example}"
    of = f"{circuit}: " if circuit else ""
    prompt = f"{question.number}  {of}{question.text}\n     {told}: "
    while True:
        line = ask(prompt)
        if line is None:
            raise _stop(key, question.number, messages.INPUT_ENDED)
        answer = " ".join(line.split()) or usual or ""
        what = question.check(answer, answers) if answer else messages.NEEDED
        if not what:
            return answer
        prompt = f"     {what}\n     {told}: "


def _stop(key: str, number: str, what: str) -> _Stop:
    return _Stop(messages.STOPPED.at(None, number=number, key=key, what=what))


# Files


def _place_of(request: NewRequest, answers: Mapping[str, str]) -> tuple[Path, str]:
    """The folder and the name without its ending."""
    if request.out is None:
        return Path(), file_stem(answers["name"])
    path = Path(request.out)
    return path.parent, path.stem


def _files(
    answers: Mapping[str, str], folder: Path, stem: str, now: Instant
) -> tuple[dict[Path, bytes], Period, Findings]:
    """What is to be written, the site file first, and the period of the first build."""
    path = folder / f"{stem}.toml"
    site, found = site_from_source(Source(path.name, site_text(answers, stem)), str(folder))
    if site is None:
        return {}, asked.default_period(utc_date(now)), found
    period = asked.default_period(local_date(site, now))
    text = site_text(answers, stem, promises_for(site, period))
    site, found = site_from_source(Source(path.name, text), str(folder))
    if site is None or has_problem(found):
        return {}, period, found
    files = {path: text.encode()}
    controller = controller_text(answers, stem)
    if controller is not None:
        files[folder / controller_file_name(stem)] = controller.encode()
    return files, period, ()


def _allow(given: Mapping[str, str], request: NewRequest, ask: Ask, paths: Sequence[Path]) -> None:
    """Nothing that is there is replaced unasked; raises _Stop where it may not be."""
    there = [path.as_posix() for path in paths if os.path.lexists(path)]
    if not there:
        return
    answer = given.get(REPLACE_KEY)
    prompt = f"8.1  {join_and(there)} is there already. Replace: yes or no? [no] "
    if answer is None:
        answer = None if request.usual else ask(prompt)
    if answer is None:
        raise _stop(REPLACE_KEY, "8.1", messages.REFUSED)
    if answer.strip().lower() not in (YES, NO):
        answer = NO
    if answer.strip().lower() != YES:
        raise _stop(REPLACE_KEY, "8.1", messages.REFUSED)


def _write(files: Mapping[Path, bytes]) -> None:
    try:
        replace_together(files)
    except (OSError, ValueError) as fault:
        words = messages.NOT_WRITTEN.format(words=words_of(fault))
        raise _stop("out", "8.2", words) from None
