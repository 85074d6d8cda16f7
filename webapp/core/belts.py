"""Belts: read a marking, what a section weighs, and whether two belts are the same."""

import math

from . import numbers
from . import units
from . import words
from .errors import CoreError
from .sections import AXIAL_PK_N, AXIAL_STRETCH_PK_N, BENDING_PK_NM2, RIBBED, V_BELTS

# An accessory belt outside these is a misread marking (our limits, mm).
SHORTEST_MM = 200.0
LONGEST_MM = 12500.0
MOST_RIBS = 60
MAX_CHARACTERS = 60
INCH = 25.4

_DIGITS = "0123456789"
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_DASHES = "-\u2010\u2011\u2012\u2013\u2014_\u00a0\u202f\t\r\n"
_TIMES = "\u00d7*\u00b7"
_LINES = [["LA", "outside"], ["LI", "inside"], ["LD", "datum"], ["LP", "datum"], ["LW", "datum"], ["LE", "effective"]]
_STRETCH = ["ELAST", "ELASTIC", "STRETCH", "STRETCHFIT", "FIT"]
_CLASSICAL = ["Y", "Z", "A", "B", "C", "D", "E"]
_NARROW = ["SPZ", "SPA", "SPB", "SPC"]
_HEXAGONAL = ["AA", "BB", "CC", "DD"]
# DIN width x length: the classical section of each top width.
_WIDTHS = [[6.0, "Y"], [10.0, "Z"], [13.0, "A"], [17.0, "B"], [22.0, "C"], [32.0, "D"], [40.0, "E"]]
# A plain number behind A to E counts inches up to here and millimetres from the second value on.
_INCH_MOST = 180
_MM_LEAST = 400


def _bad(code, **values):
    raise CoreError(code, "marking", values)


def _value_of(pairs, key):
    for pair in pairs:
        if pair[0] == key:
            return pair[1]
    return None


def _tokens(marking):
    """Split a marking into runs of letters, numbers and the strand stroke."""
    out = []
    run = ""
    kind = ""
    for c in marking.upper().strip() + " ":
        if c in _TIMES:
            c = "X"
        if c in _DASHES:
            c = " "
        if c in "\"\u2033\u201d":
            run, kind = _close(out, run), ""
            out.append("IN")
            continue
        now = "d" if c in _DIGITS or (c in ".," and kind == "d") else "a" if c in _LETTERS else c
        if now not in ("d", "a", " ", "/"):
            _bad("marking-sign", part=c)
        if now != kind:
            run, kind = _close(out, run), now
        if now == "/":
            out.append("/")
        elif now != " ":
            run += "." if c == "," else c
    return out


def _close(out, run):
    """Keep a finished run of signs and start an empty one."""
    if run:
        out.append(run)
    return ""


def _is_number(token):
    return token[0] in _DIGITS


def _number(token):
    if not _is_number(token) or token.count(".") > 1:
        _bad("marking-unread", part=token)
    return float(token)


def _whole(token, most, code):
    value = _number(token)
    if value != int(value) or value < 1 or value > most:
        _bad(code, part=token)
    return int(value)


def _length(number, part, factor=1.0):
    length = number * factor
    if length < SHORTEST_MM or length > LONGEST_MM:
        _bad("marking-length", part=part, length=numbers.trimmed(length, 1), low=numbers.trimmed(SHORTEST_MM, 0),
             high=numbers.trimmed(LONGEST_MM, 0))
    return float(numbers.trimmed(length, 2))


def _belt(section, length_mm, kind, ribs=None, double=False, cogged=False, strands=None, inch=None):
    return {"section": section, "ribs": ribs, "length_mm": length_mm, "length_kind": kind, "double_sided": double,
            "strands": strands, "cogged": cogged, "stretch": False, "inch": inch, "text": ""}


def parse(marking: str) -> dict:
    """Read the marking printed on a belt.

    6PK1500, 6 DPK 1195; 500J10 (tenths of an inch, then ribs); AV10x1000, AVX13x1250 La;
    13x1570 Li; A 1600 Ld, A 62 (inches inside); SPA 1250; 3V560; 9N1250; AA 62; 4L400;
    15A 50 in; 3/5V1250 (joined strands). Small letters, dashes and spaces do not matter.

    Parameters:  marking: as printed or typed
    Returns:     {"section", "ribs" (None for a V-belt), "length_mm", "length_kind", "double_sided",
                 "strands" (None for one), "cogged", "stretch", "inch" (the printed number of inches
                 or tenths, None for mm), "text": the marking in the form of `text`}
    Valid:       lengths 200 to 12500 mm, 1 to 60 ribs
    Raises:      CoreError "empty", "too-long", "marking-..." naming the part that is wrong or can be read two ways
    Source:      ISO 9981, ISO 9982 (PK form), ARPM IP-26 (500J10 form), ISO 2790 (AV), DIN 2215
                 (width x Li), ISO 4184 (Ld), SAE J636; A 62, 3V and 4L by common practice, no source
    """
    if len(marking) > MAX_CHARACTERS:
        _bad("too-long", most=str(MAX_CHARACTERS))
    tokens = _tokens(marking)
    if not tokens:
        raise CoreError("empty", "marking")
    kind, unit, stretch = None, None, False
    while len(tokens) > 1:
        last = tokens[-1]
        if _value_of(_LINES, last) is not None and kind is None:
            kind = _value_of(_LINES, last)
        elif last in ("MM", "IN") and unit is None:
            unit = last
        elif last in _STRETCH:
            stretch = True
        else:
            break
        tokens.pop()
    strands = None
    if len(tokens) > 2 and tokens[1] == "/":
        strands = _whole(tokens[0], 6, "marking-strands")
        if strands < 2:
            _bad("marking-strands", part=tokens[0])
        tokens = tokens[2:]
    belt = _read(tokens, kind, unit)
    if strands is not None and belt["ribs"] is not None:
        _bad("marking-strands", part=str(strands) + "/")
    belt["strands"] = strands
    belt["stretch"] = stretch
    belt["text"] = text(belt)
    return belt


def _read(tokens, kind, unit):
    first = tokens[0]
    if first == "P" and len(tokens) > 2:
        _bad("marking-pulley")
    letters = first if not _is_number(first) else tokens[1] if len(tokens) > 1 else ""
    if _ribbed_name(letters):
        return _read_ribbed(tokens, letters)
    if letters in ("AV", "AVX"):
        return _read_automotive(tokens, kind)
    if _is_number(first) and letters == "X" and len(tokens) == 3:
        return _read_width(tokens, kind)
    if _is_number(first) and len(tokens) == 3:
        return _read_number_first(tokens, unit)
    if _is_number(first) and len(tokens) == 2 and letters in ("V", "VX", "N", "NX", "L", "A"):
        _bad("marking-no-length", part=first + letters)
    if _v_name(first) is None:
        _bad("marking-unread", part=first)
    if len(tokens) == 1:
        _bad("marking-no-length", part=first)
    if len(tokens) > 2 or not _is_number(tokens[1]):
        _bad("marking-unread", part=tokens[-1])
    return _read_letters_first(first, tokens[1], kind, unit)


def _ribbed_name(letters):
    """The section of PK, DPK and so on, "" for anything else."""
    name = letters[1:] if letters.startswith("D") and len(letters) == 3 else letters
    return name if name in RIBBED else ""


def _read_ribbed(tokens, letters):
    if not _is_number(tokens[0]):
        _bad("marking-no-ribs", part=letters)
    if len(tokens) < 3:
        _bad("marking-no-length", part=tokens[0] + letters)
    if len(tokens) > 3 or not _is_number(tokens[2]):
        _bad("marking-unread", part=tokens[-1])
    if _number(tokens[0]) > MOST_RIBS and _number(tokens[2]) <= MOST_RIBS:
        _bad("marking-order", part="".join(tokens), instead=" ".join([tokens[2], letters, tokens[0]]))
    ribs = _whole(tokens[0], MOST_RIBS, "marking-ribs")
    return _belt(_ribbed_name(letters), _length(_number(tokens[2]), tokens[2]), "effective", ribs=ribs,
                 double=letters.startswith("D"))


def _read_number_first(tokens, unit):
    head, letters, tail = tokens
    if not _is_number(tail):
        _bad("marking-unread", part=tail)
    name = head + letters[0]
    cogged = letters.endswith("X")
    if letters in ("V", "VX") and head in ("3", "5", "8"):
        return _belt(name, _length(_number(tail) / 10, tail, INCH), "effective", cogged=cogged, inch=tail)
    if letters in ("N", "NX") and head in ("9", "15", "25"):
        return _belt(name, _length(_number(tail), tail), "effective", cogged=cogged)
    if letters == "L" and head in ("3", "4", "5"):
        return _belt(name, _length(_number(tail) / 10, tail, INCH), "outside", inch=tail)
    if letters == "A" and name in V_BELTS:
        return _read_sae(name, tail, unit)
    if letters in ("H", "J", "K", "L", "M"):
        return _read_inch_ribbed(head, letters, tail)
    _bad("marking-unread", part=letters)


def _read_sae(name, tail, unit):
    """Four signs with a leading zero are tenths of an inch; otherwise the unit has to be written."""
    if unit == "IN" or (len(tail) == 4 and tail[0] == "0" and unit is None):
        inches = _number(tail) if unit == "IN" else _number(tail) / 10
        return _belt(name, _length(inches, tail, INCH), "outside", inch=numbers.trimmed(inches, 2))
    if unit == "MM":
        return _belt(name, _length(_number(tail), tail), "outside")
    _bad("marking-two-ways", part=name + " " + tail, first=name + " " + tail + " mm",
         second=name + " " + numbers.trimmed(_number(tail) / 10, 1) + " in")


def _read_inch_ribbed(head, letters, tail):
    """500J10: tenths of an inch, letter, ribs.  6K1500 may be that, or 6 PK 1500 without its P."""
    if _number(head) <= MOST_RIBS < _number(tail):
        _bad("marking-two-ways", part="".join([head, letters, tail]), first=" ".join([head, "P" + letters, tail]),
             second=" ".join([tail, letters, head]))
    ribs = _whole(tail, MOST_RIBS, "marking-ribs")
    return _belt("P" + letters, _length(_number(head) / 10, head, INCH), "effective", ribs=ribs)


def _read_automotive(tokens, kind):
    rest = [t for t in tokens[1:] if t != "X"]
    if len(rest) < 2:
        _bad("marking-no-length", part="".join(tokens))
    if len(rest) > 2 or not _is_number(rest[0]) or not _is_number(rest[1]):
        _bad("marking-unread", part=rest[-1])
    if rest[0] not in ("10", "13"):
        _bad("marking-width", part=rest[0])
    return _belt("AV" + rest[0], _length(_number(rest[1]), rest[1]), kind or "effective", cogged=tokens[0] == "AVX")


def _read_width(tokens, kind):
    """DIN width x length: with La an automotive belt, with Li or Ld a classical one (common practice, no source)."""
    width = _number(tokens[0])
    length = _length(_number(tokens[2]), tokens[2])
    narrow = _value_of([[9.5, "AV10"], [12.5, "AV13"]], width)
    if narrow:
        return _belt(narrow, length, kind or "outside")
    section = _value_of(_WIDTHS, width)
    if section is None:
        _bad("marking-width", part=tokens[0])
    if kind is None:
        _bad("marking-line", part=tokens[2])
    if kind == "outside" and section in ("Z", "A"):
        section = "AV10" if section == "Z" else "AV13"
    return _belt(section, length, kind)


def _v_name(letters):
    """[section, cogged] of the letters of a V-belt, or None."""
    if letters in _CLASSICAL or letters in _NARROW or letters in _HEXAGONAL:
        return [letters, False]
    if len(letters) == 2 and letters[1] == "X" and letters[0] in _CLASSICAL:
        return [letters[0], True]
    if letters in ("XPZ", "XPA", "XPB", "XPC"):
        return ["SP" + letters[2], True]
    return None


def _read_letters_first(letters, tail, kind, unit):
    section, cogged = _v_name(letters)
    number = _number(tail)
    hexagonal = section in _HEXAGONAL
    if section in _NARROW or section in ("Y", "Z"):
        if unit == "IN":
            _bad("marking-unread", part="IN")
        return _belt(section, _length(number, tail), kind or "datum", cogged=cogged)
    if kind is None and unit is None and _INCH_MOST < number < _MM_LEAST:
        _bad("marking-two-ways", part=letters + " " + tail, first=letters + " " + tail + " in",
             second=letters + " " + tail + " mm")
    if unit == "IN" or (kind is None and unit is None and number <= _INCH_MOST):
        return _belt(section, _length(number, tail, INCH), kind or ("effective" if hexagonal else "inside"),
                     double=hexagonal, cogged=cogged, inch=numbers.trimmed(number, 2))
    return _belt(section, _length(number, tail), kind or ("effective" if hexagonal else "datum"),
                 double=hexagonal, cogged=cogged)


def _line_letters(kind):
    for letters, name in _LINES:
        if name == kind:
            return " L" + letters[1].lower()
    return ""


def text(belt: dict) -> str:
    """Return a belt's marking in Spanwright's own form; `parse` reads it back.

    Parameters:  belt: as returned by `parse`
    Returns:     text such as "6 PK 1500", "6 DPK 1195", "AVX13x1250 La", "A 62"
    Valid:       every belt that `parse` returns
    """
    section = belt["section"]
    length = numbers.trimmed(belt["length_mm"], 2)
    kind = belt["length_kind"]
    if section in RIBBED:
        shown = str(belt["ribs"]) + " " + ("D" if belt["double_sided"] else "") + section + " " + length
        return shown + " stretch" if belt["stretch"] else shown
    mark = "X" if belt["cogged"] else ""
    if section in ("AV10", "AV13"):
        shown = "AV" + mark + section[2:] + "x" + length + ("" if kind == "effective" else _line_letters(kind))
    elif section in _NARROW:
        shown = ("X" + section[1:] if mark else section) + " " + length + ("" if kind == "datum" else _line_letters(kind))
    elif section in _CLASSICAL or section in _HEXAGONAL:
        shown = section + mark + " " + _classical_length(belt, length)
    elif section[-1] == "A":
        shown = section + " " + (belt["inch"] + " in" if belt["inch"] else length + " mm")
    else:
        shown = section + mark + " " + (belt["inch"] or length)
    if belt["stretch"]:
        shown += " stretch"
    return str(belt["strands"]) + "/" + shown if belt["strands"] else shown


def _classical_length(belt, length):
    usual = "effective" if belt["section"] in _HEXAGONAL else "inside"
    if belt["inch"]:
        shown = belt["inch"] if float(belt["inch"]) <= _INCH_MOST else belt["inch"] + " in"
        return shown if belt["length_kind"] == usual else belt["inch"] + " in" + _line_letters(belt["length_kind"])
    return length + _line_letters(belt["length_kind"])


def _section(section):
    if section in RIBBED:
        return RIBBED[section]
    if section in V_BELTS:
        return V_BELTS[section]
    raise CoreError("unknown-section", "section", {"section": str(section)[:20]})


def is_ribbed(section: str) -> bool:
    """Tell whether a section is multi-ribbed."""
    return section in RIBBED


def section_names() -> list:
    """Return every section's name, the multi-ribbed ones first, in a fixed order."""
    return sorted(RIBBED) + sorted(V_BELTS)


def rib_width_mm(section: str, ribs: int) -> float:
    """Return the nominal width of a belt: ribs times rib pitch, or the top width of a V-belt.

    Parameters:  section: section name · ribs: count of ribs [-], ignored for a V-belt
    Returns:     width [mm]
    Raises:      CoreError "unknown-section", "marking-ribs"
    Source:      DIN 7867 b = n s; pitches ISO 9982 (3.56 mm for PK, ISO 9981)
    """
    data = _section(section)
    if section not in RIBBED:
        return data["top_mm"]
    if ribs is None or ribs < 1 or ribs > MOST_RIBS:
        raise CoreError("marking-ribs", "ribs", {"part": str(ribs)})
    return ribs * data["pitch_mm"]


def check_width(section: str, ribs: int, width_mm: float) -> dict:
    """Compare a measured width with the section and count of ribs.

    Parameters:  section: section name · ribs: count of ribs [-] · width_mm: as measured [mm]
    Returns:     {"state": "fits" | "other_count" | "no_fit", "expected_mm", "ribs": the count the
                 width speaks for, None for a V-belt or when none does}
    Valid:       within 1 mm the width confirms a count, it does not replace it
    Raises:      CoreError "unknown-section", "marking-ribs"
    Source:      common practice, no source
    """
    expected = rib_width_mm(section, ribs)
    if abs(width_mm - expected) <= 1.0:
        return {"state": "fits", "expected_mm": expected, "ribs": ribs}
    if section in RIBBED:
        pitch = RIBBED[section]["pitch_mm"]
        count = int(width_mm / pitch + 0.5)
        if count >= 1 and abs(width_mm - count * pitch) <= 1.0:
            return {"state": "other_count", "expected_mm": expected, "ribs": count}
    return {"state": "no_fit", "expected_mm": expected, "ribs": None}


def _count(section, ribs):
    """How many ribs or strands share a property; a V-belt without a count is one strand."""
    if section in RIBBED:
        rib_width_mm(section, ribs)
        return ribs
    return 1


def mass_per_m(section: str, ribs: int) -> dict:
    """Return the usual mass of a belt per metre.

    Parameters:  section: section name · ribs: count of ribs [-], None for one V-belt
    Returns:     {"kg_per_m", "low", "high", "source"} [kg/m]
    Valid:       an ordinary belt; weigh a stretch-fit or cogged one
    Raises:      CoreError "unknown-section", "marking-ribs", "no-mass" where the section has no value
    Source:      named in the result; PK 0.014 to 0.021 kg/m per rib from memory
    """
    data = _section(section)
    if "mass" not in data:
        raise CoreError("no-mass", "section", {"section": section})
    count = _count(section, ribs)
    value, low, high, source = data["mass"]
    return {"kg_per_m": value * count, "low": low * count, "high": high * count, "source": source}


def pitch_length_mm(section: str, effective_mm: float) -> float:
    """Return the cord line's length of a ribbed belt: L = L_e + 2 pi b_e, whatever the route.

    Parameters:  section: ribbed section · effective_mm: effective length [mm]
    Returns:     length [mm]
    Raises:      CoreError "unknown-section"
    Source:      geometry of offset curves; b_e = 2.0 mm for PK, ISO 9981:2020, 5.4
    """
    data = _section(section)
    if section not in RIBBED:
        return effective_mm
    return effective_mm + 2 * math.pi * data["differential_mm"][0]


def mass_from_weighing(mass_kg: float, length_mm: float, section: str) -> dict:
    """Return a belt's mass per metre from the weighed belt.

    m = mass / (L_e + 2 pi b_e)

    Parameters:  mass_kg: the whole belt, clean [kg] · length_mm: its printed length [mm] ·
                 section: section name
    Returns:     {"kg_per_m", "low", "high", "source"} [kg/m]
    Valid:       a scale good to 2 g, a length good to 1 % (common practice, no source)
    Raises:      CoreError "not-positive", "unknown-section"
    Source:      geometry as `pitch_length_mm`
    """
    if not (math.isfinite(mass_kg) and mass_kg > 0):
        raise CoreError("not-positive", "mass")
    if not (math.isfinite(length_mm) and length_mm > 0):
        raise CoreError("not-positive", "belt_length")
    value = mass_kg * 1000 / pitch_length_mm(section, length_mm)
    part = 0.002 / mass_kg + 0.01
    return {"kg_per_m": value, "low": value * max(0.1, 1 - part), "high": value * (1 + part), "source": "weighed"}


def bending_nm2(section: str, ribs: int) -> tuple:
    """Return the range of a belt's bending stiffness EI.

    PK per rib from two disagreeing sources; other sections scaled by width times height
    cubed, with a third of the low end for V-belts, since a cogged one bends more easily.

    Parameters:  section: section name · ribs: count of ribs [-], None for one V-belt
    Returns:     (low, high) [N m2]
    Raises:      CoreError "unknown-section", "marking-ribs"
    Source:      PK: EP 1 046 835 (low), serpentine-drive papers (high, from memory); scaling: our estimate
    """
    data = _section(section)
    count = _count(section, ribs)
    if section in RIBBED:
        height = (data["height_mm"][1] + data["height_mm"][2]) / 2
        scale = count * data["pitch_mm"] / 3.56 * (height / 4.8) ** 3
        return (BENDING_PK_NM2[0] * scale, BENDING_PK_NM2[1] * scale)
    scale = 0.8 * data["top_mm"] / 3.56 * (data["height_mm"] / 4.8) ** 3
    return (BENDING_PK_NM2[0] * scale / 3, BENDING_PK_NM2[1] * scale)


def axial_n(section: str, ribs: int, stretch: bool = False) -> tuple:
    """Return the range of a belt's axial stiffness EA.

    Parameters:  section: section name · ribs: count of ribs [-], None for one V-belt ·
                 stretch: whether it is a stretch-fit belt
    Returns:     (low, high) [N]; scaled from PK by width
    Raises:      CoreError "unknown-section", "marking-ribs"
    Source:      PK: serpentine-drive papers and static tests, from memory; scaling: our estimate
    """
    share = rib_width_mm(section, ribs) / 3.56
    low, high = AXIAL_STRETCH_PK_N if stretch else AXIAL_PK_N
    return (low * share, high * share)


def effective_from_tape(taped_mm: float, constant_mm: float, section: str) -> dict:
    """Return the printed length that a tape round the belt's back speaks for.

    Parameters:  taped_mm: tape round the back of the looped belt [mm] · constant_mm: the shop's
                 own tape constant (taped minus printed) [mm], None when it has none ·
                 section: section name
    Returns:     {"effective_mm", "low_mm", "high_mm", "source"} [mm]
    Valid:       belt looped on the bench, snug, taped three times
    Raises:      CoreError "not-positive", "unknown-section"; "tape-constant" when the section
                 has no usual constant
    Source:      5 mm with the shop's constant, 10 to 20 mm without: common practice, no source; PK 14 mm
                 from a published outside-length rule, 12 to 20 mm in practice
    """
    if not (math.isfinite(taped_mm) and taped_mm > 0):
        raise CoreError("not-positive", "taped")
    _section(section)
    if constant_mm is not None:
        value = taped_mm - constant_mm
        return {"effective_mm": value, "low_mm": value - 5, "high_mm": value + 5, "source": "shop constant"}
    if section != "PK":
        raise CoreError("tape-constant", "tape_constant", {"section": section})
    return {"effective_mm": taped_mm - 14, "low_mm": taped_mm - 20 - 5, "high_mm": taped_mm - 12 + 5,
            "source": "usual PK constant, 14 mm (12 to 20)"}


def blank(place: str) -> dict:
    """Return the data of a "belt_recorded" event of a belt of which nothing is known.

    Parameters:  place: "old" or "new"
    Returns:     the data, each value for "not said"
    Source:      the keys of `events.KINDS`
    """
    return {"place": place, "marking": None, "section": None, "ribs": None, "length": None, "length_kind": None,
            "double_sided": False, "stretch": False, "ribs_counted": None, "width": None, "taped": None, "tape_constant": None,
            "wear": [], "wear_note": None, "batch": None}


def of_entry(data: dict) -> dict:
    """Return the belt that a record describes, in the form `compare` takes.

    Parameters:  data: data of a "belt_recorded" event
    Returns:     {"section", "ribs", "length_mm", "length_kind", "double_sided", "stretch", "cogged"};
                 None where the record does not say
    Raises:      CoreError of `units.check`
    """
    length = data["length"]
    return {"section": data["section"], "ribs": data["ribs"],
            "length_mm": None if length is None else units.to_si(length, "length") * 1000,
            "length_kind": data["length_kind"], "double_sided": data["double_sided"], "stretch": data["stretch"],
            "cogged": _cogged(data["marking"])}


def _cogged(marking):
    """Whether the marking says cogged; None when nothing readable says it."""
    try:
        return None if marking is None else parse(marking)["cogged"]
    except CoreError:
        return None


def _inside(belt):
    """A V-belt's length brought to the inside line, None when the section's lines are not known."""
    data = _section(belt["section"])
    if belt["length_kind"] == "inside":
        return belt["length_mm"]
    key = str(belt["length_kind"]) + "_mm"
    return belt["length_mm"] - data[key] if key in data else None


def _lengths(old, new):
    """The two lengths on one line, or None when they cannot be brought to one."""
    if old["length_kind"] == new["length_kind"] or is_ribbed(old["section"]):
        return [old["length_mm"], new["length_mm"]]
    pair = [_inside(old), _inside(new)]
    return None if None in pair else pair


# What each kind of tensioner lets a substitute length differ by (common practice, no source).
_EXACT = ["stretch_fit", "fixed", "two_arm"]
_ARM = ["automatic", "automatic_set", "hydraulic"]
_ADJUSTED = ["slotted", "lead_screw", "eccentric"]
# Printed lengths that differ by less are the same length in other units.
_SAME_MM = 0.6
_FEW_MM = 5.0


def _length_reason(old_mm, new_mm, tensioner, marks):
    """[code, verdict] for two lengths."""
    apart = abs(new_mm - old_mm)
    if apart <= _SAME_MM:
        return None
    if tensioner in _EXACT:
        return ["length-exact", "do_not_fit"]
    if tensioner in _ARM:
        if marks == "none":
            return ["length-no-marks", "do_not_fit"]
        return ["length-pointer", "differs"] if apart <= _FEW_MM else ["length-arm", "do_not_fit"]
    if tensioner in _ADJUSTED:
        return ["length-adjuster", "differs"] if apart <= 0.005 * old_mm else ["length-too-far", "do_not_fit"]
    return ["length-unknown", "differs"] if apart <= 0.01 * old_mm else ["length-too-far", "do_not_fit"]


def compare(old: dict, new: dict, tensioner: str, marks: str = "unknown") -> dict:
    """Say whether a new belt may take the place of the old one.

    Parameters:  old, new: belts as from `parse` or `of_entry` · tensioner: code of
                 words.CHOICES["tensioner"] · marks: code of words.CHOICES["marks"]
    Returns:     {"verdict": "same" | "differs" | "do_not_fit" | "cannot_tell", "reasons":
                 [[code, {values}], ...], "sentences": the reasons in words}
    Valid:       the vehicle maker's part list always overrides it
    Source:      tolerance of a substitute length by kind of tensioner: common practice, no source
    """
    reasons = []
    verdicts = []

    def add(code, verdict, **values):
        reasons.append([code, values])
        verdicts.append(verdict)

    if old["section"] is None or new["section"] is None:
        add("section-unknown", "cannot_tell")
    elif old["section"] != new["section"]:
        add("section-differs", "do_not_fit", old=old["section"], new=new["section"])
    if old["ribs"] != new["ribs"]:
        if old["ribs"] is None or new["ribs"] is None:
            add("ribs-unknown", "cannot_tell")
        else:
            add("ribs-differ", "do_not_fit", old=str(old["ribs"]), new=str(new["ribs"]))
    if old["double_sided"] != new["double_sided"]:
        add("sides-differ", "do_not_fit")
    if old["stretch"] != new["stretch"]:
        add("stretch-differs", "do_not_fit")
    if None not in (old.get("cogged"), new.get("cogged")) and old["cogged"] != new["cogged"]:
        add("cogs-differ", "differs")
    if old["length_mm"] is None or new["length_mm"] is None:
        add("length-missing", "cannot_tell")
    elif old["section"] is not None and old["section"] == new["section"]:
        _compare_lengths(old, new, tensioner, marks, add)
    verdict = "same"
    for worst in ("differs", "cannot_tell", "do_not_fit"):
        if worst in verdicts:
            verdict = worst
    if verdict == "same":
        reasons.append(["same-belt", {}])
    return {"verdict": verdict, "reasons": reasons, "sentences": [words.reason(r[0], r[1]) for r in reasons]}


def _compare_lengths(old, new, tensioner, marks, add):
    pair = _lengths(old, new)
    if pair is None:
        add("lines-differ", "cannot_tell", old=words.label("length_kind", old["length_kind"]),
            new=words.label("length_kind", new["length_kind"]))
        return
    found = _length_reason(pair[0], pair[1], tensioner, marks)
    if found is not None:
        add(found[0], found[1], apart=numbers.trimmed(abs(pair[1] - pair[0]), 1),
            way="longer" if pair[1] > pair[0] else "shorter", tensioner=words.label("tensioner", tensioner))


def findings(entry: dict) -> list:
    """Cross-check what a belt record says: marking, counted ribs, width and taped length.

    Parameters:  entry: data of a "belt_recorded" event
    Returns:     [[code, {values}], ...], empty when everything agrees; `words.reason` has the sentences
    Raises:      CoreError of `units.check`, "unknown-section"
    Source:      limits of stretch and taping (20 mm, 1 %): common practice, no source
    """
    out = []
    _check_marking(entry, out)
    ribs = entry["ribs"]
    if ribs is not None and entry["ribs_counted"] is not None and ribs != entry["ribs_counted"]:
        out.append(["count-differs", {"printed": str(ribs), "counted": str(entry["ribs_counted"])}])
    if entry["width"] is not None and entry["section"] is not None and (ribs or not is_ribbed(entry["section"])):
        _check_width_entry(entry, out)
    if entry["taped"] is not None and entry["section"] is not None and entry["length"] is not None:
        _check_taped(entry, out)
    return out


def _check_marking(entry, out):
    if entry["marking"] is None:
        return
    try:
        belt = parse(entry["marking"])
    except CoreError as error:
        out.append(["marking-not-read", {"why": words.sentence(error)}])
        return
    length = None if entry["length"] is None else units.to_si(entry["length"], "length") * 1000
    if (entry["section"] not in (None, belt["section"]) or entry["ribs"] not in (None, belt["ribs"])
            or (length is not None and abs(length - belt["length_mm"]) > _SAME_MM)
            or entry["double_sided"] != belt["double_sided"]):
        out.append(["marking-differs", {"marking": belt["text"]}])


def _check_width_entry(entry, out):
    width = units.to_si(entry["width"], "length") * 1000
    seen = check_width(entry["section"], entry["ribs"], width)
    values = {"width": numbers.trimmed(width, 1), "expected": numbers.trimmed(seen["expected_mm"], 1)}
    if seen["state"] == "other_count":
        values["ribs"] = str(seen["ribs"])
        out.append(["width-other-count", values])
    elif seen["state"] == "no_fit":
        out.append(["width-no-fit", values])


def _check_taped(entry, out):
    printed = units.to_si(entry["length"], "length") * 1000
    constant = entry["tape_constant"]
    try:
        taped = effective_from_tape(units.to_si(entry["taped"], "length") * 1000,
                                    None if constant is None else units.to_si(constant, "length") * 1000,
                                    entry["section"])
    except CoreError as error:
        if error.code != "tape-constant":
            raise
        out.append(["tape-no-constant", error.values])
        return
    apart = taped["effective_mm"] - printed
    values = {"apart": numbers.trimmed(abs(apart), 0), "taped": numbers.trimmed(taped["effective_mm"], 0),
              "printed": numbers.trimmed(printed, 0)}
    if entry["stretch"]:
        out.append(["tape-stretch", values])
    elif abs(apart) > max(20.0, 0.01 * printed):
        out.append(["tape-other-belt", values])
    elif taped["high_mm"] < printed:
        out.append(["tape-short", values])
    elif taped["low_mm"] > printed * 1.005:
        out.append(["tape-long", values])
