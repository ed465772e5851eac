"""Every message has one example that brings it about, and what it proposes puts that right."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from schedcomp import explain
from schedcomp.messages import registry
from tests.catalogue import examples
from tests.catalogue.examples import READ, Example, Workplace

KINDS = registry.every_kind()
EXAMPLES = examples.every_example()
EACH = pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)

ANEW = "python -m tests.catalogue"


@pytest.fixture(scope="module")
def place() -> Iterator[Workplace]:
    with examples.workplace() as made:
        yield made


def test_every_message_has_an_example() -> None:
    codes = {kind.code for kind in KINDS}
    missing = sorted(codes - set(EXAMPLES))
    assert not missing, (
        f"{missing} have no example: add [CODE] with `edit`, and `run` where reading the files is "
        f"not enough, to tests/catalogue/E….toml, then run `{ANEW}`; a message that nothing can "
        "bring about is to be deleted"
    )
    gone = sorted(set(EXAMPLES) - codes)
    assert not gone, f"{gone} are no messages any more: delete their examples, then run `{ANEW}`"


@EACH
def test_an_example(example: Example, place: Workplace) -> None:
    """It brings about its message as the catalogue has it; put right, the message is gone."""
    base = place.base(example.file)
    told = examples.run(example, place)
    shown = told.first(example.code)
    assert shown, f"{example.code} is not told, but {told.codes or 'nothing'}"
    if example.run == READ and example.times == 1:
        assert told.codes == (example.code,), "one cause makes one message"
    catalogued = explain.examples().get(example.code)
    now = explain.read_examples(examples.section(example, told, base))[example.code]
    assert now == catalogued, f"other words than in the catalogue: read them, then run `{ANEW}`"
    if "\nTo fix: " not in shown:
        return
    assert example.has_cure, "the message says what to do: show it as the third of `edit` or `cure`"
    lines = examples.proposed(shown)
    assert not lines or any(examples.is_applied(line, example, base) for line in lines), (
        f"what is right has none of the lines proposed: {lines}"
    )
    after = examples.run(example, place, right=True)
    assert (example.code in after.codes) == example.stays, "what is proposed does not put it right"


def test_the_catalogue_is_in_order() -> None:
    """Byte for byte what `python -m tests.catalogue` writes, apart from the sections themselves."""
    written = examples.CATALOGUE.read_text("utf-8")
    sections = written.split("\n== ")[1:]
    assert [section[:4] for section in sections] == sorted(EXAMPLES), f"run `{ANEW}`"
    laid_out = {section[:4]: f"== {section}".rstrip("\n") + "\n" for section in sections}
    assert written == examples.catalogue(laid_out), f"run `{ANEW}`"
