"""Units: what each dimension may be typed in, and its exact factor to SI."""

from . import numbers
from .errors import CoreError

# Factors are exact by definition.  Source: NIST SP 811 (2008) appendix B.8 and ISO 80000-3, 80000-4:
# 1 in = 25.4 mm; 1 mi = 1609.344 m; 1 lb = 0.453 592 37 kg; standard gravity 9.806 65 m/s2 gives kgf and lbf.
UNITS = {
    "length": [["mm", 0.001], ["in", 0.0254]],
    "force": [["N", 1.0], ["kgf", 9.80665], ["lbf", 4.4482216152605]],
    "distance": [["km", 1000.0], ["mi", 1609.344]],
    "mass": [["g", 0.001], ["kg", 1.0], ["oz", 0.028349523125], ["lb", 0.45359237]],
    "frequency": [["Hz", 1.0]],
    # 0.3048 m x 4.448 221 615 260 5 N
    "torque": [["N\u00b7m", 1.0], ["lbf\u00b7ft", 1.3558179483314004]],
}


def names(dimension: str) -> list:
    """Return the unit names of a dimension in the order they are offered."""
    return [pair[0] for pair in UNITS[dimension]]


def _factor(unit, dimension, field=""):
    for pair in UNITS[dimension]:
        if pair[0] == unit:
            return pair[1]
    raise CoreError("unknown-unit", field, {"unit": str(unit)[:20]})


def check(quantity: dict, dimension: str, field: str) -> None:
    """Refuse a quantity that a record cannot hold.

    Parameters:  quantity: {"value": decimal text, "unit": unit name} · dimension: key of
                 `UNITS` · field: the data key it belongs to
    Raises:      CoreError "not-a-quantity", "not-a-number" or "unknown-unit"
    """
    if not isinstance(quantity, dict):
        raise CoreError("not-a-quantity", field)
    value = quantity.get("value")
    unit = quantity.get("unit")
    if not isinstance(value, str) or not isinstance(unit, str):
        raise CoreError("not-a-quantity", field)
    if numbers.plain(value, field) != value:
        raise CoreError("not-a-number", field, {"value": value[:40]})
    _factor(unit, dimension, field)


def to_si(quantity: dict, dimension: str) -> float:
    """Return a quantity in the SI unit of its dimension (m, N, kg, Hz).

    Parameters:  quantity: {"value": decimal text, "unit": unit name} · dimension: key of `UNITS`
    Returns:     the value in SI
    Raises:      CoreError as `check`
    """
    check(quantity, dimension, "")
    return float(quantity["value"]) * _factor(quantity["unit"], dimension)


def from_si(value: float, unit: str, dimension: str) -> float:
    """Return an SI value in another unit.

    Parameters:  value: in SI [m, N, kg or Hz] · unit: unit name · dimension: key of `UNITS`
    Returns:     the value in that unit
    Raises:      CoreError "unknown-unit"
    """
    return value / _factor(unit, dimension)


def text(value: float, unit: str, dimension: str, digits: int = 4) -> str:
    """Return an SI value as text with its unit, such as "412.5 mm".

    Parameters:  value: in SI [m, N, kg or Hz] · unit: unit name · dimension: key of
                 `UNITS` · digits: significant digits [-]
    Returns:     number, space, unit
    Raises:      CoreError "unknown-unit"
    """
    return numbers.short(from_si(value, unit, dimension), digits) + " " + unit


def read_quantity(value_text: str, unit: str, dimension: str, field: str, low_si: float, high_si: float) -> dict:
    """Read a number with its unit as a person gave them, and keep what was typed.

    Parameters:  value_text: as typed · unit: unit name · dimension: key of `UNITS` ·
                 field: the form field it belongs to · low_si, high_si: least and greatest
                 value allowed, in SI [m, N, kg or Hz]
    Returns:     {"value": decimal text as typed, "unit": unit}
    Raises:      CoreError of `numbers.plain`; "unknown-unit"; "other-unit" when the number
                 fits only in another unit; "too-low" or "too-high" with the limit in the typed unit
    """
    value = numbers.plain(value_text, field)
    size = float(value) * _factor(unit, dimension, field)
    if low_si <= size <= high_si:
        return {"value": value, "unit": unit}
    for pair in UNITS[dimension]:
        if low_si <= float(value) * pair[1] <= high_si:
            raise CoreError("other-unit", field, {"value": value, "unit": unit, "other": pair[0]})
    if size < low_si:
        raise CoreError("too-low", field, {"low": text(low_si, unit, dimension)})
    raise CoreError("too-high", field, {"high": text(high_si, unit, dimension)})
