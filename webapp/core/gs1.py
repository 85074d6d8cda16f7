"""Trade item codes as the open GS1 standards define them: check digits, and the element strings in DataMatrix and 128 codes.

Only the identifiers that a part's label carries; any other is refused by name, since its length is not known here.
"""

from .errors import CoreError

# The sign that ends an element of variable length when a scanner sends FNC1 (GS1 General Specifications, 7.8.3).
SEPARATOR = "\x1d"
# How a scanner marks a GS1 symbol: 128, DataMatrix, QR, DataBar (GS1 General Specifications, table of symbology identifiers).
MARKS = ["]C1", "]d2", "]Q3", "]e0"]
_DIGITS = "0123456789"
# The signs that an element may hold beside digits and letters (GS1 AI encodable character set 82).
_SIGNS = "!\"%&'()*+,-./_:;<=>?"
# Application identifier, name, least length, greatest length, what it holds: "n" digits, "x" signs, "g" digits with a check
# digit, "d" a date YYMMDD. Lengths from the GS1 General Specifications, section 3.
ELEMENTS = [
    ["00", "Package", 18, 18, "g"], ["01", "Item", 14, 14, "g"], ["02", "Items inside", 14, 14, "g"],
    ["10", "Batch", 1, 20, "x"], ["11", "Made on", 6, 6, "d"], ["12", "Due on", 6, 6, "d"], ["13", "Packed on", 6, 6, "d"],
    ["15", "Best before", 6, 6, "d"], ["16", "Sell by", 6, 6, "d"], ["17", "Expires on", 6, 6, "d"],
    ["20", "Variant", 2, 2, "n"], ["21", "Serial number", 1, 20, "x"], ["22", "Version", 1, 20, "x"],
    ["30", "Count", 1, 8, "n"], ["37", "Items in the package", 1, 8, "n"], ["240", "Further number", 1, 30, "x"],
    ["241", "Customer's part number", 1, 30, "x"], ["242", "Made to order", 1, 6, "n"], ["250", "Second serial number", 1, 30, "x"],
    ["400", "Order", 1, 30, "x"], ["410", "Ship to", 13, 13, "g"], ["414", "Place", 13, 13, "g"], ["422", "Country of origin", 3, 3, "n"],
    ["8200", "Address of a page", 1, 70, "x"]] + [[str(code), "Maker's own", 1, 90 if code > 90 else 30, "x"] for code in range(90, 100)]
# Elements that begin so have their length fixed, and no sign ends them (GS1 General Specifications, figure 7.8.5-2).
_FIXED = ["00", "01", "02", "03", "04", "11", "12", "13", "14", "15", "16", "17", "18", "19", "20",
          "31", "32", "33", "34", "35", "36", "41"]


def check_digit(digits: str) -> str:
    """Return the last digit that belongs behind the others of an EAN, UPC, GTIN or package number.

    Parameters:  digits: all but the last [-]
    Returns:     one digit
    Source:      GS1 General Specifications, 7.9: weights 3 and 1 from the right, to the next ten
    """
    total = 0
    for i in range(len(digits)):
        total += int(digits[-1 - i]) * (3 if i % 2 == 0 else 1)
    return str((10 - total % 10) % 10)


def is_digits(text: str) -> bool:
    """Tell whether a text is one or more digits 0 to 9."""
    for c in text:
        if c not in _DIGITS:
            return False
    return text != ""


def scanned(text: str) -> str:
    """Return a text as the scanner gave it: a field shows the separator as a stroke, which no such code holds.

    Parameters:  text: of a field
    """
    return SEPARATOR.join([run.strip() for run in text.split("|")])


def item_number(text: str) -> str:
    """Return an EAN-8, UPC-A, EAN-13 or GTIN-14 as 14 digits, "" when the text is no such thing.

    Parameters:  text: as scanned or typed; spaces and dashes between the digits do not matter
    Raises:      CoreError "check-digit" when the digits are as many but the last one is wrong
    Source:      GS1 General Specifications, 3.3.2 (leading zeros to 14 digits) and 7.9
    """
    digits = text.replace(" ", "").replace("-", "")
    if not is_digits(digits) or len(digits) not in (8, 12, 13, 14):
        return ""
    _check_last(digits)
    return "0" * (14 - len(digits)) + digits


def _check_last(digits):
    right = check_digit(digits[:-1])
    if digits[-1] != right:
        raise CoreError("check-digit", "hand", {"digits": digits, "right": right})


def is_elements(text: str) -> bool:
    """Tell whether a text looks like GS1 element strings: marked by the scanner, with a separator, "(01)" written out, or
    beginning with an item number that its check digit confirms.

    Parameters:  text: as scanned or typed
    """
    if text[:3] in MARKS or SEPARATOR in text or _bracketed(text):
        return True
    item = text[2:16]
    return text.startswith("01") and len(text) > 16 and is_digits(item) and check_digit(item[:-1]) == item[-1]


def _bracketed(text):
    end = text.find(")")
    return text.startswith("(") and 3 <= end <= 5 and is_digits(text[1:end])


def elements(text: str, today: str) -> list:
    """Read GS1 element strings.

    Parameters:  text: as a scanner gives it, FNC1 as `SEPARATOR`; or written out with the identifiers in brackets · today:
                 date that the two digits of a year are near to, as "2026-03-09"
    Returns:     [[identifier, name, value], ...] in order; a date as "2026-11-25"
    Raises:      CoreError "gs1-unknown", "gs1-length", "gs1-signs", "gs1-date", "check-digit"
    Valid:       the identifiers of `ELEMENTS`; another one is refused, never guessed
    Source:      GS1 General Specifications, 3 (identifiers), 7.8 (strings), 7.9 (check digit), 7.12 (century of a date)
    """
    if _bracketed(text):
        return [_element(row, value, today) for row, value in _written_out(text.replace(SEPARATOR, ""))]
    for mark in MARKS:
        if text.startswith(mark):
            text = text[len(mark):]
            break
    # A scanner may send the first FNC1 too.
    rest = text[1:] if text.startswith(SEPARATOR) else text
    found = []
    while rest:
        row = _row_of(rest)
        rest = rest[len(row[0]):]
        if row[0][:2] in _FIXED:
            length = row[3]
        else:
            length = rest.find(SEPARATOR) if SEPARATOR in rest else len(rest)
        found.append(_element(row, rest[:length], today))
        rest = rest[length:]
        if rest.startswith(SEPARATOR):
            rest = rest[1:]
    if not found:
        raise CoreError("gs1-unknown", "hand", {"code": "nothing"})
    return found


def _row_of(text):
    for row in ELEMENTS:
        if text.startswith(row[0]):
            return row
    raise CoreError("gs1-unknown", "hand", {"code": text[:4]})


def _written_out(text):
    """[row, value] of each element of the form that people read: identifiers in brackets."""
    parts = []
    while text:
        end = text.find(")")
        if not text.startswith("(") or end < 0:
            raise CoreError("gs1-unknown", "hand", {"code": text[:4]})
        row = _row_of(text[1:end])
        if row[0] != text[1:end]:
            raise CoreError("gs1-unknown", "hand", {"code": text[1:end]})
        following = _next_bracket(text, end + 1)
        parts.append([row, text[end + 1:following]])
        text = text[following:]
    return parts


def _next_bracket(text, start):
    """Where the next identifier in brackets begins: a bracket may also belong to a value."""
    for i in range(start, len(text)):
        if text[i] == "(" and [row for row in ELEMENTS if text[i:].startswith("(" + row[0] + ")")]:
            return i
    return len(text)


def _element(row, value, today):
    code, name, least, most, kind = row
    if not least <= len(value) <= most:
        raise CoreError("gs1-length", "hand", {"code": code, "name": name, "length": str(len(value))})
    if kind == "x":
        for c in value:
            if not (c in _DIGITS or "A" <= c <= "Z" or "a" <= c <= "z" or c in _SIGNS):
                raise CoreError("gs1-signs", "hand", {"code": code, "name": name})
    elif not is_digits(value):
        raise CoreError("gs1-signs", "hand", {"code": code, "name": name})
    if kind == "g":
        _check_last(value)
    return [code, name, _date(value, today, code, name) if kind == "d" else value]


def _date(value, today, code, name):
    """YYMMDD as a date: the year within 49 back and 50 on; day 00 is the last of the month."""
    from .events import is_stamp
    year = int(today[0:2] + value[0:2])
    apart = int(value[0:2]) - int(today[2:4])
    if apart >= 51:
        year -= 100
    elif apart <= -50:
        year += 100
    days = [value[4:6]] if value[4:6] != "00" else ["31", "30", "29", "28"]
    for day in days:
        date = ("0000" + str(year))[-4:] + "-" + value[2:4] + "-" + day
        if is_stamp(date + "T00:00:00Z"):
            return date
    raise CoreError("gs1-date", "hand", {"code": code, "name": name, "value": value})
