"""Where every key and value of a TOML text stands, also in a text with mistakes.

The scanner reads the outer form only: headers, keys, brackets, quotes and commas. What a value
means is asked of tomli later. A mistake becomes a `Trouble`, and the scan goes on where the next
statement begins, so that one mistake is told once and hides nothing else.
"""

from __future__ import annotations

import re

import tomli

from schedcomp.tomlcursor import (
    ASSIGNS,
    BARE_INSIDE,
    BARE_KEY,
    BARE_TOP,
    BLANK,
    CURLY,
    GAP,
    HEADS,
    LINE_END,
    LONG_TEXT,
    MAX_DEPTH,
    MAX_ENTRIES,
    NAME_WITH_BLANKS,
    QUOTED_KEY,
    REST,
    VALUE_LIKE,
    WORDS_BEFORE_EQUALS,
    Cursor,
)
from schedcomp.tomlform import (
    Assignment,
    BracesAt,
    Header,
    KeyPart,
    ListAt,
    ScalarAt,
    Scan,
    Statement,
    TroubleKind,
    UnreadableAt,
    ValueAt,
)


def scan(text: str) -> Scan:
    """The statements of a TOML text with positions, and what is wrong with its form."""
    return _Scanner(text).run()


class _Scanner(Cursor):
    def run(self) -> Scan:
        statements: list[Statement] = []
        self.skip(GAP)
        while self.pos < len(self.text):
            if self.full():
                break
            self.begin = self.pos
            self.leaving = False
            self.entries += 1
            found = self._header() if self.sees("[") else self._assignment()
            if found is not None:
                statements.append(found)
            self.skip(GAP)
        if self.entries > MAX_ENTRIES:
            self.trouble(TroubleKind.TOO_LONG, self.pos, self.pos + 1)
        return Scan(tuple(statements), tuple(self.troubles))

    # Headers and keys

    def _header(self) -> Header:
        start = self.pos
        is_list = self.sees("[[")
        self.pos += 2 if is_list else 1
        name_start = self.pos
        key = self._key()
        closing = self._closing_brackets()
        if not key or (closing == 0 and not LINE_END.match(self.text, self.pos)):
            return self._bad_header(start, name_start, is_list)
        if closing != (2 if is_list else 1):
            self.trouble(TroubleKind.HEADER_BRACKET, start, self.pos)
        end = self.pos
        if not LINE_END.match(self.text, self.pos):
            self.skip(BLANK)
            self.trouble(TroubleKind.EXTRA_TEXT, self.pos, self.line_stop())
        self.skip(REST)
        return Header(key, is_list or closing == 2, start, end)

    def _bad_header(self, start: int, name_start: int, is_list: bool) -> Header:
        self.pos = name_start
        self.skip(NAME_WITH_BLANKS)
        self._closing_brackets()
        end = max(self.pos, start + 1)
        self.trouble(TroubleKind.BAD_HEADER, start, end)
        self.skip(REST)
        return Header((), is_list, start, end)

    def _closing_brackets(self) -> int:
        self.skip(BLANK)
        count = 2 if self.sees("]]") else 1 if self.sees("]") else 0
        self.pos += count
        return count

    def _key(self) -> tuple[KeyPart, ...]:
        """The parts of a key; none if there is no key here. Stops after the last part."""
        parts: list[KeyPart] = []
        while True:
            self.skip(BLANK)
            start = self.pos
            quoted = self.skip(QUOTED_KEY)
            name = _unquoted(quoted) if quoted else self.skip(BARE_KEY)
            if not quoted and not name:
                return ()
            inset = 1 if quoted else 0
            parts.append(KeyPart(name, start + inset, self.pos - inset))
            if len(parts) > MAX_DEPTH:
                self.trouble(TroubleKind.TOO_DEEP, parts[0].start, self.pos)
                self.skip(REST)
                return ()
            end = self.pos
            self.skip(BLANK)
            if not self.sees("."):
                self.pos = end
                return tuple(parts)
            self.pos += 1

    # Assignments

    def _assignment(self) -> Assignment | None:
        key = self._pair_key(inside=False)
        if key is None:
            return None
        value = self._value_or_nothing(inside=False)
        self._statement_end()
        return Assignment(key, value)

    def _pair_key(self, *, inside: bool) -> tuple[KeyPart, ...] | None:
        """A key with its `=`; () where only the value can be read, None where nothing can."""
        start = self.pos
        before = len(self.troubles)
        key = self._key()
        end = self.pos
        if len(self.troubles) > before:
            return None
        self.skip(BLANK)
        if key and self.sees("="):
            self.pos += 1
            return key
        if key and self.sees(":"):
            self.trouble(TroubleKind.COLON, self.pos, self.pos + 1)
            self.pos += 1
            return key
        if key and VALUE_LIKE.match(self.text, self.pos):
            return self._value_without_equals(key, end)
        self.pos = start
        words = self.skip(WORDS_BEFORE_EQUALS)
        if words:
            self.trouble(TroubleKind.BAD_KEY, start, start + len(words[:-1].rstrip()))
            return ()
        self._stray(start, inside=inside)
        return None

    def _value_without_equals(self, key: tuple[KeyPart, ...], end: int) -> tuple[KeyPart, ...]:
        words = WORDS_BEFORE_EQUALS.match(self.text, self.pos)
        if words:
            start = key[0].start
            self.trouble(TroubleKind.BAD_KEY, start, words.end() - 1)
            self.pos = words.end()
            return ()
        self.trouble(TroubleKind.MISSING_EQUALS, end, self.pos + 1)
        return key

    def _stray(self, start: int, *, inside: bool) -> None:
        self.pos = start
        self.trouble(TroubleKind.STRAY_LINE, start, self.line_stop())
        if not inside:
            self.to_next_statement()

    def _statement_end(self) -> None:
        """After a value nothing may follow on its line but a remark."""
        if self.leaving or self.full() or LINE_END.match(self.text, self.pos):
            return
        self.skip(BLANK)
        stop = self.line_stop()
        if self.text[self.pos : stop] in (",", ";", "."):
            self.trouble(TroubleKind.EXTRA_COMMA, self.pos, stop)
        else:
            self.trouble(TroubleKind.EXTRA_TEXT, self.pos, stop)
        self.skip(REST)

    # Values

    def _value_or_nothing(self, *, inside: bool) -> ValueAt:
        self.skip(BLANK)
        here = self.pos
        ends_here = LINE_END.match(self.text, here) or (inside and self.sees_any(",]}"))
        if ends_here:
            self.trouble(TroubleKind.MISSING_VALUE, self._value_spot(here), here)
            return UnreadableAt(here, here)
        return self._value(inside=inside)

    def _value_spot(self, here: int) -> int:
        """The `=` before a missing value."""
        return max(self.begin, self.text.rfind("=", self.begin, here))

    def _value(self, *, inside: bool) -> ValueAt:
        start = self.pos
        if self.sees_any("[{"):
            return self._bracketed()
        if self.sees('"""') or self.sees("'''"):
            return self._long_text(start)
        if self.sees_any("\"'"):
            return self._text(start, inside=inside)
        if self.sees_any(CURLY):
            return self._curly(start, inside=inside)
        bare = self.skip(BARE_INSIDE if inside else BARE_TOP)
        end = start + len(bare.rstrip(" \t\r"))
        return ScalarAt(start, end, self.begin)

    def _long_text(self, start: int) -> ValueAt:
        if self.skip(LONG_TEXT):
            return ScalarAt(start, self.pos, self.begin)
        self.trouble(TroubleKind.UNCLOSED_TEXT, start, start + 3)
        self.to_next_statement()
        return UnreadableAt(start, start + 3)

    def _text(self, start: int, *, inside: bool) -> ValueAt:
        if not self.skip(QUOTED_KEY):
            stop = self.broken_text_stop(inside)
            self.trouble(TroubleKind.MISSING_QUOTE, start, stop)
            self.pos = stop
            return UnreadableAt(start, stop)
        end = self.pos
        self.skip(BLANK)
        follows = self.text[self.pos : self.pos + 1]
        if follows in ("", "\n", "#", ",", ";", ".") or (follows in "]}" and inside):
            self.pos = end
            return ScalarAt(start, end, self.begin)
        if (follows in "\"'" and self.pos > end) or (inside and ASSIGNS.match(self.text, self.pos)):
            self.pos = end
            return ScalarAt(start, end, self.begin)
        stop = self.broken_text_stop(inside)
        self.trouble(TroubleKind.EXTRA_TEXT, self.pos, stop)
        self.pos = stop
        return UnreadableAt(start, stop)

    def _curly(self, start: int, *, inside: bool) -> ValueAt:
        stop = self.broken_text_stop(inside)
        if inside:
            closing = re.compile(rf"[^\n]*?[{CURLY}\"'](?=[ \t]*[,\]}}\r\n]|[ \t]*\Z)")
            match = closing.match(self.text, start + 1)
            stop = match.end() if match else stop
        self.trouble(TroubleKind.CURLY_QUOTES, start, stop)
        self.pos = stop
        return UnreadableAt(start, stop)

    # Brackets

    def _bracketed(self) -> ValueAt:
        start = self.pos
        if self.depth >= MAX_DEPTH:
            self.trouble(TroubleKind.TOO_DEEP, start, start + 1)
            self.to_next_statement()
            return UnreadableAt(start, start + 1)
        self.depth += 1
        found: ValueAt = self._list(start) if self.sees("[") else self._braces(start)
        self.depth -= 1
        if self.leaving and self.troubles[-1].kind is TroubleKind.TOO_DEEP:
            return UnreadableAt(start, self.pos)
        return found

    def _list(self, start: int) -> ListAt:
        begin, items = self.begin, list[ValueAt]()
        self.after_comma = False
        self.pos += 1
        while self._goes_on(start, "]"):
            if self._extra_sign(",;}"):
                continue
            self.begin = self.pos
            items.append(self._value(inside=True))
            self._comma(start, "]")
            self.begin = begin
        return ListAt(start, self.pos, tuple(items))

    def _braces(self, start: int) -> BracesAt:
        begin, pairs = self.begin, list[Assignment]()
        self.after_comma = False
        self.pos += 1
        while self._goes_on(start, "}"):
            if self._extra_sign(",;]"):
                continue
            self.begin = self.pos
            key = self._pair_key(inside=True)
            if key is None:
                self._to_close(start)
            else:
                pairs.append(Assignment(key, self._value_or_nothing(inside=True)))
                self._comma(start, "}")
            self.begin = begin
        return BracesAt(start, self.pos, tuple(pairs))

    def _extra_sign(self, signs: str) -> bool:
        """Take a sign that stands where an element should begin."""
        if not self.sees_any(signs):
            return False
        is_bracket = self.sees_any("]}")
        kind = TroubleKind.EXTRA_TEXT if is_bracket else TroubleKind.EXTRA_COMMA
        self.trouble(kind, self.pos, self.pos + 1)
        self.pos += 1
        return True

    def _to_close(self, start: int) -> None:
        """Leave braces that cannot be read further: after their closing, or at the line's end."""
        stop = self.line_stop()
        close = self.text.find("}", self.pos, stop)
        self.pos = close if close >= 0 else max(stop, start + 1)

    def _goes_on(self, start: int, close: str) -> bool:
        """Whether another element begins here; takes the closing bracket if it stands here."""
        self.entries += 1
        if self.leaving or self.full():
            return False
        came_from = self.pos
        self.skip(GAP)
        if self.sees(close):
            self.pos += 1
            return False
        new_line = "\n" in self.text[came_from : self.pos]
        if self.pos >= len(self.text) or (new_line and self._statement_begins(start, close)):
            self.pos = came_from
            kind = TroubleKind.UNCLOSED_LIST if close == "]" else TroubleKind.UNCLOSED_BRACES
            self.trouble(kind, start, came_from)
            return False
        return True

    def _statement_begins(self, start: int, close: str) -> bool:
        """Whether this line is rather a new statement than an element of what began at `start`."""
        if HEADS.match(self.text, self.pos):
            return True
        if not ASSIGNS.match(self.text, self.pos):
            return False
        several_lines = LINE_END.match(self.text, start + 1) is not None
        return close == "]" or not (several_lines or self.after_comma)

    def _element_begins(self) -> bool:
        return self.sees_any("\"'[{") or ASSIGNS.match(self.text, self.pos) is not None

    def _comma(self, start: int, close: str) -> None:
        """After an element: its comma, or what is wrong there."""
        if self.leaving:
            return
        end = self.pos
        self.skip(GAP)
        self.after_comma = self.sees(",")
        if self.after_comma:
            self.pos += 1
        elif self.full() or self.pos >= len(self.text) or self.sees(close):
            return
        elif "\n" in self.text[end : self.pos] and self._statement_begins(start, close):
            self.pos = end
        elif "\n" in self.text[end : self.pos] or self._element_begins():
            self.trouble(TroubleKind.MISSING_COMMA, end - 1, end)
        else:
            stop = self.pos + 1 if self.sees_any(";]}") else self.broken_text_stop(inside=True)
            self.trouble(TroubleKind.EXTRA_TEXT, self.pos, stop)
            self.pos = stop


def _unquoted(key: str) -> str:
    """A quoted key as meant; as written where its escapes cannot be read."""
    if "\\" in key and key[0] == '"':
        try:
            return next(iter(tomli.loads(f"{key} = 0")))
        except tomli.TOMLDecodeError:
            return key[1:-1]
    return key[1:-1]
