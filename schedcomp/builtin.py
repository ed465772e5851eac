"""Files that ship with the program and may be named like any other."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from schedcomp.diag import Diagnostic, SourceRange
from schedcomp.messages.kind import Kind
from schedcomp.near import near_words, quoted
from schedcomp.words import join_and


def exists(path: Path) -> bool:
    """Whether there is such a file; what cannot be a path is none."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def unknown(
    kind: Kind, name: str, known: Sequence[str], folder: Path | str, at: SourceRange | None
) -> Diagnostic:
    """That a name is neither one of those known nor a file of the folder."""
    near = near_words(name, known)
    return kind.at(
        at,
        found=quoted(name),
        near=f"The nearest name is {near[0]}. " if near else "",
        known=join_and(known),
        folder="the current one" if Path(folder) == Path() else folder,
        example=(near or known)[0],
    )
