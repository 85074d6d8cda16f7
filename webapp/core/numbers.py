"""Numbers as people type them and as people read them: one place for both."""

import math

from .errors import CoreError

# Longer than any reading, short enough that no double overflows.
MAX_CHARACTERS = 24
# What phones and spreadsheets write for a space and for a minus sign.  Mapped to ASCII before any `strip`,
# which works on bytes in MicroPython and cuts wider characters in two.
_ASCII = [["\u00a0", " "], ["\u202f", " "], ["\t", " "], ["\r", " "], ["\n", " "], ["\u2212", "-"], ["\u2013", "-"]]


def fixed(value: float, places: int) -> str:
    """Return a number as text with a fixed count of decimals, half away from zero.

    `%.2f`, `round` and f-strings round ties differently on the two interpreters; one
    multiplication and whole numbers give the same text on both. A last-digit nudge
    rounds 1.005 as it was typed, not as its nearest double.

    Parameters:  value: any finite number [-] · places: decimals, 0 to 12 [-]
    Returns:     text such as "-2.68"; never "-0.00"
    Raises:      CoreError "not-a-number" for NaN and infinity
    Source:      rule "half away from zero", ISO 80000-1 annex B, rule B
    """
    if not math.isfinite(value):
        raise CoreError("not-a-number")
    whole = int(abs(value) * 10 ** places * 1.000000000000001 + 0.5)
    digits = str(whole)
    while len(digits) <= places:
        digits = "0" + digits
    if places:
        digits = digits[:-places] + "." + digits[-places:]
    return "-" + digits if value < 0 and whole else digits


def trimmed(value: float, places: int) -> str:
    """Return a number with at most so many decimals and no needless zeros.

    Parameters:  value: any finite number [-] · places: most decimals, 0 to 12 [-]
    Returns:     text such as "1574.8" or "1600"
    Raises:      CoreError "not-a-number" for NaN and infinity
    """
    text = fixed(value, places)
    if places:
        text = text.rstrip("0").rstrip(".")
    return text


def short(value: float, digits: int = 4) -> str:
    """Return a number with so many significant digits, as the working shows it.

    Parameters:  value: any finite number [-] · digits: significant digits [-]
    Returns:     text without exponent, such as "0.01234" or "470.4"
    Raises:      CoreError "not-a-number" for NaN and infinity
    """
    if value == 0:
        return "0"
    return trimmed(value, max(0, digits - 1 - _exponent(value)))


def _exponent(value):
    """The power of ten of the first digit; log10 differs in the last bit between interpreters."""
    size = abs(value)
    power = 0
    while size >= 10 and power < 300:
        size /= 10
        power += 1
    while size < 1 and power > -12:
        size *= 10
        power -= 1
    return power


def _ungrouped(text):
    """Take out spaces that group digits by three; any other space stays and is refused later."""
    whole = text.replace(",", ".").split(".")[0].lstrip("+-")
    groups = whole.split(" ")
    for group in groups[1:]:
        if len(group) != 3:
            return text
    return text.replace(" ", "") if len(groups[0]) <= 3 else text


def plain(text: str, field: str) -> str:
    """Return what was typed as clean decimal text: "12,50" becomes "12.50".

    Parameters:  text: as typed; decimal comma or point, spaces between thousands, a
                 sign · field: the form field it belongs to
    Returns:     decimal text with a point, all typed decimals kept
    Raises:      CoreError "empty", or "not-a-number" for words, exponents, NaN, infinity,
                 two separators or more than 24 characters
    """
    typed = str(text)
    for wide, narrow in _ASCII:
        typed = typed.replace(wide, narrow)
    typed = typed.strip(" ")
    if not typed:
        raise CoreError("empty", field)
    body = _ungrouped(typed).replace(",", ".")
    sign = ""
    if body[0] in "+-":
        sign = "" if body[0] == "+" else "-"
        body = body[1:]
    parts = body.split(".")
    digits = "".join(parts)
    if len(parts) > 2 or not digits or len(typed) > MAX_CHARACTERS:
        raise CoreError("not-a-number", field, {"value": typed[:40]})
    for c in digits:
        if c not in "0123456789":
            raise CoreError("not-a-number", field, {"value": typed[:40]})
    whole = parts[0].lstrip("0") or "0"
    clean = whole + "." + parts[1] if len(parts) == 2 and parts[1] else whole
    return clean if float(clean) == 0 else sign + clean


def read_number(text: str, field: str, low: float = None, high: float = None) -> float:
    """Read a number that a person typed.

    Parameters:  text: as typed, see `plain` · field: the form field it belongs to ·
                 low, high: least and greatest value allowed [-], None for no limit
    Returns:     the number, finite
    Raises:      CoreError "empty", "not-a-number", "too-low" or "too-high" with the limit
    """
    value = float(plain(text, field))
    if low is not None and value < low:
        raise CoreError("too-low", field, {"low": short(low, 6)})
    if high is not None and value > high:
        raise CoreError("too-high", field, {"high": short(high, 6)})
    return value


def with_interval(value: float, low: float, high: float) -> list:
    """Return a value and its interval with as many digits as the interval's width is worth.

    The half width keeps two significant digits (the uncertainty rule of JCGM 100:2008
    (GUM), 7.2.6); the ends are rounded outwards, so the shown interval never shrinks.

    Parameters:  value, low, high: in one unit [-], low <= value <= high
    Returns:     [value, low, high] as texts
    Raises:      CoreError "not-a-number" for NaN and infinity
    """
    half = (high - low) / 2
    if not math.isfinite(half) or half <= 0:
        return [short(value), short(low), short(high)]
    power = _exponent(half) - 1
    step = 10.0 ** power
    places = max(0, -power)
    slack = 1e-9
    return [fixed(math.floor(value / step + 0.5) * step, places),
            fixed(math.floor(low / step + slack) * step, places),
            fixed(math.ceil(high / step - slack) * step, places)]


def plus_minus(value: float, half: float) -> str:
    """Return a value with its half width, both with as many digits as the half width is worth.

    The half width keeps one significant digit, two when the first is 1 (the uncertainty rule of JCGM 100:2008 (GUM),
    7.2.6), and is rounded up.

    Parameters:  value: any finite number [-] · half: half width in the same unit, above 0 [-]
    Returns:     text such as "1420 ± 12", which does not break at a line's end
    Raises:      CoreError "not-a-number" for NaN and infinity
    """
    if not math.isfinite(half) or half <= 0:
        return short(value)
    power = _exponent(half)
    step = 10.0 ** power
    if half < 2 * step:
        power -= 1
        step = 10.0 ** power
    places = max(0, -power)
    return (fixed(math.floor(value / step + 0.5) * step, places) + "\u00a0±\u00a0"
            + fixed(math.ceil(half / step - 1e-9) * step, places))
