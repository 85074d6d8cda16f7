"""JSON text, the same on both interpreters: read strictly from outside the workshop, saying where it is wrong, and written.

The interpreters' own readers differ: one takes NaN and stops at deep nesting, the other takes text without commas,
and neither says that a name stands twice.
"""

import math

from . import numbers
from .errors import CoreError

# Deeper than any file that is read here.
DEEPEST = 12
_LONGEST_NUMBER = 40
_BLANK = b" \t\r\n"
_DIGITS = b"0123456789"
_ESCAPES = {34: 34, 92: 92, 47: 47, 98: 8, 102: 12, 110: 10, 114: 13, 116: 9}


class _Reader:
    """Walks over the bytes of a text: in MicroPython a place in a text with wide characters has to be counted out."""

    def __init__(self, text, field):
        self.data = text.encode()
        self.field = field
        self.at = 0

    def fail(self, code="json-wrong"):
        before = self.data[:self.at]
        line = before.count(b"\n")
        start = before.rfind(b"\n") + 1
        raise CoreError(code, self.field, {"line": str(line + 1), "sign": str(self.at - start + 1)})

    def peek(self):
        """The next byte that is not blank; -1 at the end."""
        data = self.data
        while self.at < len(data) and data[self.at] in _BLANK:
            self.at += 1
        return data[self.at] if self.at < len(data) else -1

    def take(self, wanted):
        if self.peek() != wanted:
            self.fail()
        self.at += 1

    def value(self, depth):
        if depth > DEEPEST:
            self.fail("json-deep")
        first = self.peek()
        if first == 123:
            return self.members(depth)
        if first == 91:
            return self.items(depth)
        if first == 34:
            return self.string()
        for word, meant in ((b"true", True), (b"false", False), (b"null", None)):
            if self.data[self.at:self.at + len(word)] == word:
                self.at += len(word)
                return meant
        return self.number()

    def members(self, depth):
        out = {}
        self.take(123)
        if self.peek() == 125:
            self.at += 1
            return out
        while True:
            if self.peek() != 34:
                self.fail()
            before = self.at
            name = self.string()
            if name in out:
                self.at = before
                self.fail("json-twice")
            self.take(58)
            out[name] = self.value(depth + 1)
            if not self.more(125):
                return out

    def items(self, depth):
        out = []
        self.take(91)
        if self.peek() == 93:
            self.at += 1
            return out
        while True:
            out.append(self.value(depth + 1))
            if not self.more(93):
                return out

    def more(self, closing):
        """Tell whether a comma follows and not the end of the list."""
        found = self.peek()
        if found not in (44, closing):
            self.fail()
        self.at += 1
        return found == 44

    def string(self):
        self.at += 1
        parts = []
        start = self.at
        while True:
            if self.at >= len(self.data):
                self.fail()
            sign = self.data[self.at]
            if sign < 32:
                self.fail()
            if sign in (34, 92):
                parts.append(self.data[start:self.at].decode())
                self.at += 1
                if sign == 34:
                    return "".join(parts)
                parts.append(self.escaped())
                start = self.at
            else:
                self.at += 1

    def escaped(self):
        sign = self.data[self.at] if self.at < len(self.data) else -1
        if sign != 117:
            if sign not in _ESCAPES:
                self.fail()
            self.at += 1
            return chr(_ESCAPES[sign])
        code = self.unit()
        if 0xD800 <= code < 0xDC00 and self.data[self.at:self.at + 2] == b"\\u":
            self.at += 1
            low = self.unit()
            if not 0xDC00 <= low < 0xE000:
                self.fail()
            return chr(0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00))
        if 0xD800 <= code < 0xE000:
            # Half of a pair is no character: no page that holds it could be sent.
            self.fail()
        return chr(code)

    def unit(self):
        """Four hexadecimal digits behind the u."""
        code = 0
        for sign in self.data[self.at + 1:self.at + 5].lower():
            if 48 <= sign <= 57:
                code = code * 16 + sign - 48
            elif 97 <= sign <= 102:
                code = code * 16 + sign - 87
            else:
                self.fail()
        if self.at + 5 > len(self.data):
            self.fail()
        self.at += 5
        return code

    def digits(self):
        start = self.at
        while self.at < len(self.data) and self.data[self.at] in _DIGITS:
            self.at += 1
        if self.at == start:
            self.fail()

    def next_is(self, signs):
        return self.at < len(self.data) and self.data[self.at] in signs

    def number(self):
        start = self.at
        whole = True
        if self.next_is(b"-"):
            self.at += 1
        if self.next_is(b"0"):
            self.at += 1
        else:
            self.digits()
        if self.next_is(b"."):
            whole = False
            self.at += 1
            self.digits()
        if self.next_is(b"eE"):
            whole = False
            self.at += 1
            if self.next_is(b"+-"):
                self.at += 1
            self.digits()
        text = self.data[start:self.at].decode()
        number = float(text) if len(text) <= _LONGEST_NUMBER else math.inf
        if not math.isfinite(number):
            self.at = start
            self.fail("json-number")
        return int(text) if whole and len(text) < 16 else number


def read(text: str, field: str):
    """Return the value of a JSON text.

    Parameters:  text: the text · field: the form field it belongs to
    Returns:     dicts, lists, texts, whole numbers, floats, True, False or None
    Raises:      CoreError with "line" and "sign" (counted in bytes) of the place: "json-wrong" for what is not JSON,
                 NaN included, "json-deep" for nesting beyond `DEEPEST`, "json-twice" for a name that stands twice in
                 one object, "json-number" for a number that no float holds or of more than 40 signs
    Source:      RFC 8259, with unique names as RFC 7493 (section 2.3) asks for
    """
    reader = _Reader(text, field)
    value = reader.value(0)
    if reader.peek() != -1:
        reader.fail()
    return value


def write(value: object) -> str:
    """Return a value as JSON text on one line: names sorted, floats as decimal text to 8 decimals.

    The interpreters' own writers order names and print floats differently.

    Parameters:  value: None, truth values, texts, whole numbers, finite floats, and lists and dicts of them
    Returns:     text; wide characters stand in it as they are
    Raises:      CoreError "not-a-number" for NaN and infinity
    Source:      RFC 8259
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, float):
        return numbers.trimmed(value, 8)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join([write(one) for one in value]) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join([_quoted(key) + ": " + write(value[key]) for key in sorted(value)]) + "}"
    return str(value)


def _quoted(text):
    out = ['"']
    for c in text:
        if c in '"\\':
            out.append("\\" + c)
        elif ord(c) < 32:
            out.append("\\u%04x" % ord(c))
        else:
            out.append(c)
    return "".join(out) + '"'
