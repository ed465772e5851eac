"""A place in a TOML text that moves on, and what was found wrong on the way."""

from __future__ import annotations

import re

from schedcomp.tomlform import Trouble, TroubleKind

MAX_DEPTH = 16
MAX_TROUBLES = 50
MAX_ENTRIES = 10_000

CURLY = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u201b\u00ab\u00bb\u2039\u203a\u00b4`\u2033"
"""Marks that look like quotes and are none."""

LEAVES = (
    TroubleKind.UNCLOSED_LIST,
    TroubleKind.UNCLOSED_BRACES,
    TroubleKind.UNCLOSED_TEXT,
    TroubleKind.TOO_DEEP,
)
"""After these the brackets around the place are left as well."""

BLANK = re.compile(r"[ \t\r]*+")
GAP = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*")
LINE_END = re.compile(r"[ \t\r]*+(?:#[^\n]*+)?(?:\n|\Z)")
REST = re.compile(r"[^\n]*")
BARE_KEY = re.compile(r"[A-Za-z0-9_-]++")
QUOTED_KEY = re.compile(r"\"(?:[^\"\\\n]++|\\[^\n])*\"|'[^'\n]*+'")
LONG_TEXT = re.compile(
    r"\"\"\"(?:[^\"\\]++|\\[\s\S]|\"(?!\"\"))*\"{3,5}|'''(?:[^']++|'(?!''))*'{3,5}"
)
BARE_TOP = re.compile(r"[^\n#]*+")
BARE_INSIDE = re.compile(r"[^\n#,\]}]*+")
KEY = r"(?:[A-Za-z0-9_-]+|\"[^\"\n\\]*\"|'[^'\n]*')"
ASSIGNS = re.compile(rf"[ \t]*{KEY}(?:[ \t]*\.[ \t]*{KEY})*[ \t]*=")
HEADS = re.compile(r"[ \t]*\[\[?[ \t]*(?!(?:true|false|inf|nan)\b)[A-Za-z_][\w.-]*[ \t]*\]")
BEGINS = re.compile(rf"^(?:{ASSIGNS.pattern}|{HEADS.pattern})", re.MULTILINE)
WORDS_BEFORE_EQUALS = re.compile(r"[^\n#=\"'\[{]*+=")
NAME_WITH_BLANKS = re.compile(r"[^\n\]\[]*+")
VALUE_LIKE = re.compile(rf"[\"'\[{{0-9+\-{CURLY}]")


class Cursor:
    """The small steps of the scanner."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.pos = 0
        self.begin = 0
        self.depth = 0
        self.after_comma = False
        self.leaving = False
        self.entries = 0
        self.troubles: list[Trouble] = []

    def sees(self, what: str) -> bool:
        return self.text.startswith(what, self.pos)

    def skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.pos)
        if match is None:
            return ""
        self.pos = match.end()
        return match.group()

    def trouble(self, kind: TroubleKind, start: int, end: int) -> None:
        self.leaving |= kind in LEAVES
        end = max(min(end, len(self.text)), min(start + 1, len(self.text)))
        self.troubles.append(Trouble(kind, start, end, self.begin))

    def line_stop(self) -> int:
        """End of the text of this line, without blanks after it."""
        return self.line_stop_after(self.pos)

    def line_stop_after(self, start: int) -> int:
        rest = REST.match(self.text, start)
        assert rest is not None
        return start + len(rest.group().rstrip(" \t\r"))

    def to_next_statement(self) -> None:
        """Go to the next line that begins like a statement."""
        line_end = self.text.find("\n", self.pos)
        match = BEGINS.search(self.text, line_end + 1) if line_end >= 0 else None
        self.pos = match.start() if match else len(self.text)

    def sees_any(self, characters: str) -> bool:
        return self.text[self.pos : self.pos + 1] in characters and self.pos < len(self.text)

    def broken_text_stop(self, inside: bool) -> int:
        """Where a text with a wrong quote may be taken to end: before a last bracket or comma."""
        stop = self.line_stop()
        if inside:
            kept = self.text[self.pos : stop].rstrip(",]} \t")
            stop = self.pos + max(1, len(kept))
        return stop

    def full(self) -> bool:
        """Whether enough was found to stop here."""
        return len(self.troubles) > MAX_TROUBLES or self.entries > MAX_ENTRIES
