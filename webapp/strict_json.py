"""Reads JSON from phones so that one odd member does not spoil the others."""

import json

# The records nest far less; deeper values are emptied, and the gate then refuses the entry that holds them.
DEEPEST = 24


class NotJson(ValueError):
    """The text as a whole cannot be read."""


def read(body: bytes):
    """Return the value of a JSON text; NotJson when it cannot be read at all."""
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotJson from error
    try:
        return _load(text)
    except RecursionError:
        return _load(_flattened(text))


def _load(text):
    try:
        return json.loads(text, parse_int=_int)
    except ValueError as error:
        raise NotJson from error


def _int(digits):
    # Python refuses to read an integer of thousands of digits; as a float it reads, and no record takes a float.
    return int(digits) if len(digits) < 20 else float(digits)


def _flattened(text):
    """Leave out what lies deeper than `DEEPEST`."""
    kept = []
    depth = 0
    quoted = escaped = False
    for c in text:
        closing = not quoted and c in "]}"
        if closing:
            depth -= 1
        if depth < DEEPEST:
            kept.append(c)
        if escaped:
            escaped = False
        elif quoted:
            escaped = c == "\\"
            quoted = c != '"'
        elif c == '"':
            quoted = True
        elif c in "[{":
            depth += 1
    return "".join(kept)
