"""Phrases cut into words, numbers and signs, and the cursor that the parse functions share.

Everything is linear in the length of the phrase, and nothing here or above calls itself once per
word, so that a phrase of any length is answered and never overflows.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from enum import Enum
from typing import TypeVar

from schedcomp.diag import Diagnostic, PhraseText, SourceRange
from schedcomp.limits import LONGEST_PHRASE
from schedcomp.messages import meaning, wanted
from schedcomp.messages.kind import Kind
from schedcomp.messages.wanted import Instead, Wanted
from schedcomp.near import near_words, quoted
from schedcomp.records import Record, replace

Tree = TypeVar("Tree")
Findings = tuple[Diagnostic, ...]
Lines = tuple[str, ...]

MOST_SLIPS = 3
"""Slips of one phrase that are put right together."""


class TokenKind(Enum):
    WORD = "word"
    NUMBER = "number"
    SIGN = "sign"
    END = "end"


class Token(Record):
    """A piece of a phrase, in lower case and with plain signs, from `start` to before `end`.

    A number is everything that people write as one: `7`, `23:30`, `2027-12-24`, `12.07.2027`.
    """

    kind: TokenKind
    text: str
    start: int
    end: int


class Refused(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """Carries the one finding of a phrase up to `read_whole`; never leaves this package.

    `mended` are whole phrases that may be what was meant, each one line or several: the first
    that can be read, or be mended in its turn, is proposed in place of an example. `span` is the
    part of the phrase in whose place the lines of the finding's fix belong, None if they are
    examples.
    """

    def __init__(
        self,
        finding: Diagnostic,
        mended: tuple[Lines, ...] = (),
        span: tuple[int, int] | None = None,
    ) -> None:
        super().__init__(finding.title)
        self.finding = finding
        self.mended = mended
        self.span = span


# One character for one, so that positions stay: dashes and minus, quotes and apostrophes.
_PLAIN_SIGNS = str.maketrans("−–—‐‑‘’ʼ“”", "-----'''\"\"")

# No `(...)*+`: Python before 3.11.5 lets it take a piece that does not fit, `20:00:` for `20:00`.
_PIECE = re.compile(
    r"""(?P<blank>\s+)
      | (?P<number>[0-9]++-[0-9]++-[0-9]++ | [0-9]++(?:[:./][0-9]++)*)
      | (?P<dotted>[ap]\.\s?m\b\.?)
      | (?P<word>[^\W\d_]\w*+)
      | (?P<sign>.)""",
    re.VERBOSE | re.DOTALL | re.IGNORECASE,
)
# A unit may follow its number without a blank and be followed by the next number: 1h30min.
_UNIT = re.compile(r"[^\W\d_]+")


def plain_signs(text: str) -> str:
    """`text` with typographic dashes and quotes as the plain ones, of the same length."""
    return text.translate(_PLAIN_SIGNS)


def _tokens(plain: str) -> Iterator[Token]:
    """The tokens of a text with plain signs, last an empty one of kind END."""
    position = 0
    after_number = False
    while position < len(plain):
        unit = _UNIT.match(plain, position) if after_number and plain[position] != "_" else None
        match = _PIECE.match(plain, position)
        assert match is not None
        kind = match.lastgroup
        if unit is not None and kind == "word":
            match = unit
        if kind != "blank":
            yield _token(kind, match)
        after_number = kind == "number"
        position = match.end()
    yield Token(TokenKind.END, "", len(plain), len(plain))


def _token(kind: str | None, match: re.Match[str]) -> Token:
    text = match[0].lower()
    if kind == "dotted":
        return Token(TokenKind.WORD, text[0] + "m", match.start(), match.end())
    return Token(TokenKind(kind), text, match.start(), match.end())


class Cursor:
    """A place in a phrase; `plain` is its text with plain signs.

    `check_*` looks, `take_*` moves on if it fits, `expect_*` insists.
    """

    __slots__ = ("_as_written", "_index", "_tokens", "phrase", "plain")

    def __init__(self, phrase: PhraseText) -> None:
        self.phrase = phrase
        self.plain = plain_signs(phrase.text)
        self._tokens = tuple(_tokens(self.plain))
        self._index = 0
        self._as_written = phrase.at.text == phrase.text

    @property
    def token(self) -> Token:
        """The token that comes next."""
        return self._tokens[self._index]

    @property
    def last(self) -> Token:
        """The token taken last; the first one if none was."""
        return self._tokens[max(0, self._index - 1)]

    def ahead(self, count: int) -> Token:
        """The token `count` after the next one; the end if there are fewer."""
        return self._tokens[min(self._index + count, len(self._tokens) - 1)]

    def take(self) -> Token:
        token = self.token
        if token.kind is not TokenKind.END:
            self._index += 1
        return token

    def check_word(self, *words: str) -> bool:
        return self.token.kind is TokenKind.WORD and self.token.text in words

    def take_word(self, *words: str) -> bool:
        found = self.check_word(*words)
        self._index += found
        return found

    def check_sign(self, *signs: str) -> bool:
        return self.token.kind is TokenKind.SIGN and self.token.text in signs

    def take_sign(self, *signs: str) -> bool:
        found = self.check_sign(*signs)
        self._index += found
        return found

    def check_number(self, ahead: int = 0) -> bool:
        return self.ahead(ahead).kind is TokenKind.NUMBER

    def expect_word(self, word: str, what: Wanted) -> None:
        if not self.take_word(word):
            refused = self.missing(what, (word,))
            raise refused if refused.span else Refused(refused.finding, ((self._with_word(word),),))

    def _with_word(self, word: str) -> str:
        """The phrase with a word put in before the next token."""
        start = self.token.start
        return f"{self.phrase.text[:start].rstrip()} {word} {self.phrase.text[start:]}".strip()

    def expect_colon(self, what: Wanted) -> None:
        if not self.take_sign(":"):
            raise self.missing(what)

    def take_rest(self) -> None:
        """Move to the end."""
        self._index = len(self._tokens) - 1

    def skip_to(self, position: int) -> bool:
        """Move to the first token from `position` on; whether it did not cut a token in two."""
        while self.token.kind is not TokenKind.END and self.token.start < position:
            self._index += 1
        return self.last.end <= position

    def written(self, start: int, end: int) -> str:
        """A part of the phrase as its writer wrote it."""
        return self.phrase.text[start:end]

    def range(self, start: int, end: int) -> SourceRange:
        """Where a part of the phrase stands in its file, as `PhraseText.range`."""
        at = self.phrase.at
        return SourceRange(at.source, at.start + start, end - start) if self._as_written else at

    def range_from(self, first: Token) -> SourceRange:
        """From a token to the one taken last."""
        return self.range(first.start, max(first.end, self.last.end))

    def refused(self, kind: Kind, first: Token, /, **fields: object) -> Refused:
        """A finding about everything from a token to the one taken last; it names that `found`."""
        end = max(first.end, self.last.end)
        found = quoted(self.written(first.start, end))
        place = self.range(first.start, end)
        told = kind.at(place, also=(), found=found, **fields)
        return Refused(told, span=(first.start, end))

    def refused_next(self, kind: Kind, /, **fields: object) -> Refused:
        """A finding about the token that comes next."""
        token = self.token
        found = quoted(self.written(token.start, token.end))
        place = self.range(token.start, token.end)
        told = kind.at(place, also=(), found=found, **fields)
        return Refused(told, span=(token.start, token.end))

    def missing(self, what: Wanted, near: Collection[str] = ()) -> Refused:
        """The finding that something else should come next, with the words that were close."""
        token = self.token
        if token.kind is TokenKind.WORD:
            close = near_words(token.text, near)
            if close:
                return self.refused_next(
                    wanted.NEAR_WORD,
                    wanted=what.words,
                    close=wanted.closest(close),
                    example=close[0],
                )
        where = wanted.before_words(quoted(self.written(token.start, token.end)))
        told = self.refused_next(wanted.MISSING, wanted=what.words, where=where, fix=what.fix)
        return Refused(told.finding)

    def instead(self, right: Instead) -> Refused:
        """The finding that the next token stands where something else belongs."""
        refused = self.refused_next(wanted.INSTEAD, right=right.right, why=right.why, fix=right.fix)
        puts = right.puts.get(self.token.text, right.puts.get("", ()))
        mended = ((self.with_next(text, each=each),) for text in puts for each in (False, True))
        return Refused(refused.finding, tuple(mended))

    def with_next(self, text: str, *, each: bool = False) -> str:
        """The phrase with another text in place of the next token, or of each like it from there
        on; blanks as they belong.
        """
        rest = self._tokens[self._index : None if each else self._index + 1]
        parts, since = [], 0
        for token in rest:
            if token.text == self.token.text:
                parts.append(self.written(since, token.start))
                since = token.end
        parts.append(self.phrase.text[since:])
        if text in ("-", ","):
            parts[:-1] = [part.rstrip() for part in parts[:-1]]
        if text in ("-", ""):
            parts[1:] = [part.lstrip() for part in parts[1:]]
        return text.join(parts)

    def finish(self) -> None:
        """Refuse anything left over."""
        if self.token.kind is not TokenKind.END:
            before = self.written(0, self.token.start).strip()
            raise self.refused_next(
                wanted.LEFT_OVER, before=quoted(before), fix=wanted.without_rest(before)
            )


def read_whole(
    phrase: PhraseText, rule: Callable[[Cursor], Tree], what: Wanted
) -> tuple[Tree | None, Findings]:
    """What `rule` makes of the whole of a phrase, or the one finding about it."""
    if len(phrase.text) > LONGEST_PHRASE:
        return None, (_too_long(phrase),)
    cursor = Cursor(phrase)
    try:
        if cursor.token.kind is TokenKind.END:
            empty = cursor.refused_next(wanted.EMPTY, wanted=what.words, fix=what.fix)
            raise Refused(empty.finding)
        return _whole(cursor, rule), ()
    except Refused as refused:
        mender = _Mender(phrase.at, rule)
        return None, (replace(refused.finding, fix=mender.fix(refused, phrase.text)),)


def _whole(cursor: Cursor, rule: Callable[[Cursor], Tree]) -> Tree:
    tree = rule(cursor)
    cursor.finish()
    return tree


class _Mender(Record):
    """Puts phrases right whose slips have a single remedy each."""

    at: SourceRange
    rule: Callable[[Cursor], object]

    def fix(self, refused: Refused, text: str) -> str:
        """What to write: the user's own phrase put right where that can be worked out."""
        head, *lines = refused.finding.fix.split("\n")
        if refused.span is not None and head == wanted.ONE_OF_THESE:
            each = [self._put_right(_with(text, refused.span, line), 0) for line in lines]
            lines = [line for [line] in each] if all(each) else lines
            return "\n".join([head, *lines])
        right = self._mended(refused, text, MOST_SLIPS)
        return wanted.lines_to_write(right) if right else refused.finding.fix

    def _mended(self, refused: Refused, text: str, most_slips: int) -> Lines:
        head, *lines = refused.finding.fix.split("\n")
        ways = refused.mended
        if not ways and refused.span is not None and head == wanted.THIS and len(lines) == 1:
            ways = ((_with(text, refused.span, lines[0]),),)
        for way in ways:
            right = [self._put_right(line, most_slips - 1) for line in way]
            if all(right):
                return tuple(line for each in right for line in each)
        return ()

    def _put_right(self, text: str, most_slips: int) -> Lines:
        try:
            _whole(Cursor(PhraseText(text, self.at)), self.rule)
        except Refused as refused:
            return self._mended(refused, text, most_slips) if most_slips else ()
        return (text,)


def _with(text: str, span: tuple[int, int], instead: str) -> str:
    return f"{text[: span[0]]}{instead}{text[span[1] :]}".strip()


def _too_long(phrase: PhraseText) -> Diagnostic:
    count, most = (f"{n:,}" for n in (len(phrase.text), LONGEST_PHRASE))
    return meaning.PHRASE_TOO_LONG.at(phrase.range(0, 1), count=count, most=most)
