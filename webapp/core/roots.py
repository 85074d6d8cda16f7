"""Finding where a function of one number is zero."""

_MOST_STEPS = 100


def bracketed(function: object, low: float, high: float, width: float) -> float:
    """Return a zero of a continuous function that changes sign between two points.

    Regula falsi with the Illinois rule: an end that stays put for a second time has its value halved,
    so that both ends close in.

    Parameters:  function: of one number [-] · low, high: the points [-], with values of opposite sign or
                 zero · width: stop when a step is smaller than this [-]
    Returns:     the zero, in the unit of low and high; None where the signs are alike
    Source:      Dowell and Jarratt, BIT 11 (1971) 168, the Illinois algorithm (page from memory)
    """
    anchor = low
    at_anchor = function(low)
    last = high
    at_last = function(high)
    if at_anchor == 0:
        return anchor
    if at_last == 0:
        return last
    if (at_anchor > 0) == (at_last > 0):
        return None
    for _ in range(_MOST_STEPS):
        point = last - at_last * (last - anchor) / (at_last - at_anchor)
        value = function(point)
        if value == 0 or abs(point - last) < width:
            return point
        if (value > 0) == (at_last > 0):
            at_anchor *= 0.5
        else:
            anchor = last
            at_anchor = at_last
        last = point
        at_last = value
    return last
