"""Numbers that a drive needs beyond the belt section: each with its range and where it comes from.

"common practice" means that the trade works by it and no source was found; "from memory" that no copy of
the source was at hand. Every one can be replaced by a number in the drive itself.
"""

from . import belts
from . import sections

# Cord line to the belt's back [mm]: value, low, high.  A published outside-length rule (outside = effective
# + 14 mm, three either way) gives 0.2 to 0.6 mm for PK; workshop figures for idlers give 0.8 to 1.3 mm.
_BACK = {"PH": [0.7, 0.4, 0.9], "PJ": [0.8, 0.4, 1.0], "PK": [1.0, 0.2, 1.3], "PL": [1.5, 0.8, 2.0],
         "PM": [2.2, 1.2, 3.0]}
# Measuring force on the slide, per rib [N], shared by two strands: ISO 9982, from memory.
_MEASURING = {"PH": 30.0, "PJ": 50.0, "PK": 100.0, "PL": 200.0, "PM": 450.0}
# For a V-belt: 267 N (60 lbf) for SAE size 13A; the other automotive sizes by their width, our estimate.
_MEASURING_13A = 267.0
_AUTOMOTIVE = ("AV10", "AV13", "10A", "13A", "15A", "17A", "20A", "23A")
# Cord line above the line the belt is sold by [mm]: half the difference of outside and pitch diameter,
# from memory.  Classical and narrow belts are sold by datum length, which is the cord line.
_DIFFERENTIAL = {"3V": -0.64, "9N": -0.64, "5V": -1.27, "15N": -1.27, "8V": -2.54, "25N": -2.54}
_DATUM = ("Y", "Z", "A", "B", "C", "D", "E", "SPZ", "SPA", "SPB", "SPC", "AA", "BB", "CC", "DD")
# Where a V-belt's cord lies below its top, as a share of its height: our estimate.
_CORD_DEPTH = 0.3
# Sold by the outside (SAE J636 and light-duty belts).
_OUTSIDE = ("10A", "13A", "15A", "17A", "20A", "23A", "3L", "4L", "5L")

# Least angle of contact [deg] before a pulley of this kind is looked at twice: common practice, no source.
LEAST_WRAP = {"crank": 120.0, "alternator": 90.0, "compressor": 90.0, "steering_pump": 90.0,
              "supercharger": 130.0, "water_pump": 60.0, "fan": 60.0, "air_pump": 60.0, "tensioner": 20.0,
              "idler": 5.0}
# Shorter spans read too high by more than a tenth: see `span.frequency_from_tension`; our limit [mm].
SHORTEST_SPAN_MM = 100.0

# Friction between belt and pulley that a drive is judged by; ribs and V with the groove's wedge included.
# Dry ribs: design ratio 3.5 to 4.5 at 180 degrees (from memory). Dry V: 0.5123, ratio 5 at 180 degrees, Shigley
# ch. 17. Dry back: 0.3 to 0.4 (from memory). Wet and worn: shares of dry, common practice, no source.
FRICTION = {"ribs": [0.44, 0.40, 0.48], "v": [0.5123, 0.45, 0.5123], "back": [0.35, 0.30, 0.40]}
CONDITION = {"dry": 1.0, "wet": 0.55, "worn": 0.75, "wet_worn": 0.40}

# Loads by kind when a drive gives none: torque [N m] value, low, high, and how it goes with the accessory's
# speed: "flat", or "square" from the speed in the last place [1/min].  From memory with low confidence.
TORQUE = {"compressor": [15.0, 5.0, 30.0, "flat", 0.0], "steering_pump": [5.0, 2.0, 20.0, "flat", 0.0],
          "water_pump": [3.0, 1.0, 5.0, "square", 6000.0], "fan": [5.0, 2.0, 10.0, "square", 3000.0],
          "air_pump": [2.0, 1.0, 4.0, "flat", 0.0], "supercharger": [10.0, 5.0, 25.0, "flat", 0.0],
          "tensioner": [0.05, 0.02, 0.1, "flat", 0.0], "idler": [0.05, 0.02, 0.1, "flat", 0.0],
          "crank": [0.0, 0.0, 0.0, "flat", 0.0]}
# An alternator that the drive does not describe: rated current [A] and voltage [V].
ALTERNATOR_A = 120.0
ALTERNATOR_V = 14.0
# Efficiency: 0.50 to 0.55 for older claw-pole machines, 0.60 to 0.75 for newer ones (a handbook chapter and a
# white paper for the low end, the rest from memory).
ALTERNATOR_EFFICIENCY = [0.55, 0.70, 0.50]
# Share of the rated current over rotor speed [1/min]: the usual shape of the curve, from memory.
ALTERNATOR_CURVE = [[1000.0, 0.0], [1500.0, 0.35], [2000.0, 0.6], [3000.0, 0.85], [6000.0, 1.0]]

# Typical numbers at the accessory's own shaft, all from memory with low confidence; ranges in the comments.
INERTIA = {"alternator": 3.0e-3,      # 2 to 4e-3
           "compressor": 2.5e-3,      # 1 to 4e-3
           "steering_pump": 6.0e-4,   # 3e-4 to 1e-3
           "water_pump": 8.0e-4,      # 3e-4 to 1.5e-3
           "fan": 1.0e-2, "air_pump": 8.0e-4, "supercharger": 3.0e-3,
           "tensioner": 1.5e-4, "idler": 1.5e-4, "crank": 4.0e-2}
# Light and heavy rotors, with their pulley [kg m2]: the range above.
ROTOR_RANGE = [2.0e-3, 4.0e-3]
# Outer ring of a one-way clutch or decoupler on the alternator, and ring of a crank decoupler [kg m2].
RING_INERTIA = {"alternator": 2.0e-4, "crank": 8.0e-3}
# Springs inside decouplers [N m/deg].
DECOUPLER = {"alternator": 0.35, "crank": 3.0}
# Share of critical damping of such a spring with its own inertia.
DECOUPLER_DAMPING = 0.10
ARM_INERTIA = 2.5e-3                  # arm and pulley about the pivot [kg m2]
# Share of critical damping that the cord gives the belt's lengthwise vibration: 1 to 5 percent of span modes.
CORD_DAMPING = 0.03


def belt_numbers(full: dict) -> dict:
    """Return what is known of a drive's belt, the drive's own numbers before the section's.

    Parameters:  full: a drive in its full form
    Returns:     {"differential_mm", "least_mm": value or None; "back_mm", "kg_per_m", "axial_n":
                 [value, low, high] or None; "bending_nm2": [low, high] or None; "measuring_n": tension of one
                 strand at which the printed length holds [N]; "ribbed"}
    Raises:      CoreError "unknown-section"
    Source:      named beside the tables of this module and of `sections.py`
    """
    belt = full["belt"]
    section = belt["section"]
    stretch = full["tensioner"]["kind"] == "stretch_fit"
    ribbed = section is not None and belts.is_ribbed(section)
    out = {"ribbed": ribbed, "differential_mm": belt["differential_mm"], "back_mm": _given(belt["back_mm"]),
           "kg_per_m": _given(belt["kg_per_m"]), "axial_n": _given(belt["axial_n"]), "bending_nm2": None,
           "least_mm": None, "measuring_n": 0.0}
    if belt["bending_nm2"] is not None:
        out["bending_nm2"] = [belt["bending_nm2"], belt["bending_nm2"]]
    if section is None:
        return out
    data = sections.RIBBED[section] if ribbed else sections.V_BELTS[section]
    out["least_mm"] = data["least_mm"]
    if out["differential_mm"] is None:
        out["differential_mm"] = _differential(section, data)
    if out["back_mm"] is None:
        out["back_mm"] = _back(section, data)
    count = belt["ribs"] if ribbed else belt["ribs"] or 1
    if count is not None:
        _fill_stiffness(out, section, count, ribbed, stretch)
    if count is not None and not stretch:
        out["measuring_n"] = _measuring(section, data) * count / 2
    return out


def sold_by(section: str) -> str:
    """Return the line on which a section's length is printed, which is the drive's own line for it.

    Parameters:  section: section name
    Returns:     code of words.CHOICES["length_kind"]
    Source:      ISO 9981, ISO 9982, ISO 2790 (effective); DIN 2215, ISO 4184 (datum); SAE J636 (outside); 3L to 5L
                 common practice, no source
    """
    if section in _DATUM:
        return "datum"
    return "outside" if section in _OUTSIDE else "effective"


def _measuring(section, data):
    if section in _MEASURING:
        return _MEASURING[section]
    if section in _AUTOMOTIVE:
        return _MEASURING_13A * data["top_mm"] / sections.V_BELTS["13A"]["top_mm"]
    return 0.0


def _given(value):
    return None if value is None else [value, value, value]


def _differential(section, data):
    if section in sections.RIBBED:
        return data["differential_mm"][0]
    if section in _DATUM:
        return 0.0
    return _DIFFERENTIAL.get(section, -_CORD_DEPTH * data["height_mm"])


def _back(section, data):
    if section in _BACK:
        return list(_BACK[section])
    depth = _CORD_DEPTH * data["height_mm"]
    return [depth, 0.7 * depth, 1.3 * depth]


def _fill_stiffness(out, section, count, ribbed, stretch):
    """Mass, axial and bending stiffness of the whole belt from one rib's or one strand's."""
    strands = 1 if ribbed else count
    ribs = count if ribbed else None
    if out["kg_per_m"] is None and ("mass" in (sections.RIBBED if ribbed else sections.V_BELTS)[section]):
        mass = belts.mass_per_m(section, ribs)
        out["kg_per_m"] = [mass["kg_per_m"] * strands, mass["low"] * strands, mass["high"] * strands]
    if out["axial_n"] is None:
        low, high = belts.axial_n(section, ribs, stretch)
        out["axial_n"] = [(low * high) ** 0.5 * strands, low * strands, high * strands]
    if out["bending_nm2"] is None:
        low, high = belts.bending_nm2(section, ribs)
        out["bending_nm2"] = [low * strands, high * strands]
