"""The vehicle identification number (VIN): its form, and its check digit where one applies."""

from .errors import CoreError

_DIGITS = "0123456789"
_LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
_VALUES = "12345678123457923456789"
_WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]
# The letters a VIN never holds, and the digit each is mistaken for.
_MISTAKEN = [["I", "1"], ["O", "0"], ["Q", "0"]]


def _signs(vin):
    signs = ""
    for c in vin.upper():
        if c not in " -\t\r\n":
            signs += c
    return signs


def _value(sign):
    if sign in _DIGITS:
        return int(sign)
    return int(_VALUES[_LETTERS.index(sign)])


def check_digit(vin: str) -> str:
    """Return the check digit that belongs at the ninth place.

    Sum of value times weight over all seventeen signs, modulo 11; 10 is written X.

    Parameters:  vin: seventeen signs without I, O, Q
    Returns:     one digit or "X"
    Valid:       vehicles made for North America
    Source:      49 CFR 565.15(c), tables III to V
    """
    total = 0
    for i in range(17):
        total += _WEIGHTS[i] * _value(vin[i])
    return "X" if total % 11 == 10 else str(total % 11)


def check(vin: str) -> dict:
    """Check a VIN as far as its own signs allow.

    The check digit is law in North America only (first sign 1 to 5); elsewhere the
    ninth sign may be anything, so it is not judged.

    Parameters:  vin: as typed; spaces, dashes and small letters do not matter
    Returns:     {"vin": 17 signs, "state": "ok" | "check-wrong" | "not-judged",
                 "found": ninth sign, "expected": check digit, "" when not judged}
    Raises:      CoreError "empty", "vin-length", "vin-letter", "vin-sign"
    Source:      ISO 3779 (form), ISO 3780 (first sign), 49 CFR 565.15 (check digit)
    """
    signs = _signs(vin)
    if not signs:
        raise CoreError("empty", "vin")
    for i in range(len(signs)):
        for letter, instead in _MISTAKEN:
            if signs[i] == letter:
                raise CoreError("vin-letter", "vin", {"letter": letter, "place": str(i + 1), "instead": instead})
        if signs[i] not in _DIGITS and signs[i] not in _LETTERS:
            raise CoreError("vin-sign", "vin", {"sign": signs[i], "place": str(i + 1)})
    if len(signs) != 17:
        raise CoreError("vin-length", "vin", {"count": str(len(signs))})
    if signs[0] not in "12345":
        return {"vin": signs, "state": "not-judged", "found": signs[8], "expected": ""}
    expected = check_digit(signs)
    state = "ok" if signs[8] == expected else "check-wrong"
    return {"vin": signs, "state": state, "found": signs[8], "expected": expected}
