"""The answer to `controllers`."""

from __future__ import annotations

from schedcomp import controllerfile
from schedcomp.answers.answer import CLEAN, USAGE, Answer
from schedcomp.controller import Controller
from schedcomp.messages import commands as messages
from schedcomp.near import near_words
from schedcomp.report import controllers as report
from schedcomp.words import join_and


def controllers(name: str | None) -> Answer:
    """All built-in controllers in one line each, or one in full."""
    known = controllerfile.builtin_controllers()
    if name is None:
        shown = tuple(_built_in(one) for one in known)
        text = report.controller_lines(shown)
    elif name.strip().lower() in known:
        shown = (_built_in(name.strip().lower()),)
        text = report.controller_page(shown[0])
    else:
        example = (*near_words(name, known), *known)[0]
        finding = messages.NO_SUCH_CONTROLLER.at(
            None, found=name, known=join_and(known), example=example
        )
        return Answer(exit_code=USAGE, findings=(finding,))
    records = [report.controller_record(controller) for controller in shown]
    return Answer(exit_code=CLEAN, text=text, record={"controllers": records})


def _built_in(name: str) -> Controller:
    controller, findings = controllerfile.load_controller(name)
    if controller is None:
        raise RuntimeError(f"built-in controller {name}: {findings}")
    return controller
