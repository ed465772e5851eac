"""The answer to `explain`."""

from __future__ import annotations

from schedcomp import explain as explaining
from schedcomp.answers.answer import CLEAN, USAGE, Answer
from schedcomp.messages import commands as messages
from schedcomp.messages.registry import every_kind
from schedcomp.near import near_words
from schedcomp.words import join_and


def explain(code: str | None) -> Answer:
    """The page of one message or topic, or the list of all."""
    kinds = every_kind()
    if code is None:
        records = [explaining.record(kind) for kind in kinds]
        text = explaining.all_codes(kinds)
        about = [{"topic": t.name, "about": t.about} for t in explaining.topics().values()]
        return Answer(exit_code=CLEAN, text=text, record={"topics": about, "messages": records})
    topic = explaining.topics().get(code.strip().casefold())
    if topic is not None:
        record = {"topic": topic.name, "about": topic.about, "text": topic.text}
        return Answer(exit_code=CLEAN, text=topic.text, record={"topics": [record]})
    wanted = explaining.normal_code(code)
    for kind in kinds:
        if kind.code == wanted:
            return Answer(
                exit_code=CLEAN,
                text=explaining.page(kind),
                record={"messages": [explaining.record(kind)]},
            )
    near = explaining.near_codes(wanted, kinds)
    closest = "\n".join(f"{k.code}: {explaining.wording(k.title)}" for k in near)
    finding = messages.NO_SUCH_CODE.at(
        None,
        found=code,
        topics=join_and([*explaining.topics()]),
        typed=" ".join(["schedcomp explain", *near_words(code, explaining.topics())[:1]]),
        near=f"\nThe codes closest to it are:\n{closest}" if near else "",
    )
    return Answer(exit_code=USAGE, findings=(finding,))
