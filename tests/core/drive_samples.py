"""The worked example drives, all invented: one per kind of tensioner, and ways to change them."""

import copy
import json
import math
from pathlib import Path

FOLDER = Path(__file__).parent / "drives"
NAMES = sorted(path.stem for path in FOLDER.glob("*.json"))


def load(name):
    return json.loads((FOLDER / (name + ".json")).read_text(encoding="utf-8"))


def two(large, small, centres, length=None, kind="fixed", **belt):
    """An open two-pulley drive: the crankshaft and one accessory [mm]."""
    data = {"section": "PK", "ribs": 6, "effective_mm": length}
    data.update(belt)
    return {"belt": data,
            "pulleys": [{"name": "crank", "kind": "crank", "x_mm": 0, "y_mm": 0, "diameter_mm": large},
                        {"name": "other", "kind": "compressor", "x_mm": centres, "y_mm": 0, "diameter_mm": small}],
            "tensioner": {"kind": kind}}


def moved(drive, turn_deg=0.0, dx=0.0, dy=0.0, mirror=False):
    """The same drive turned about the origin and shifted; mirrored first when asked."""
    out = copy.deepcopy(drive)
    turn = math.radians(turn_deg)

    def place(part, x, y):
        if part.get(x) is not None:
            a, b = (-part[x] if mirror else part[x]), part[y]
            part[x] = a * math.cos(turn) - b * math.sin(turn) + dx
            part[y] = a * math.sin(turn) + b * math.cos(turn) + dy

    def swap(sense):
        return {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}.get(sense) if mirror else sense

    def angle(value):
        return (180 - value if mirror else value) + turn_deg

    for pulley in out["pulleys"]:
        place(pulley, "x_mm", "y_mm")
        pulley["turns"] = swap(pulley.get("turns"))
    out["rotation"] = swap(out.get("rotation", "clockwise"))
    data = out["tensioner"]
    place(data, "pivot_x_mm", "pivot_y_mm")
    for key in ("at_deg", "slot_deg"):
        if data.get(key) is not None:
            data[key] = angle(data[key])
    for key in ("stops_deg", "marks_deg"):
        if data.get(key) is not None:
            data[key] = [angle(one) for one in data[key]]
    return out


def reversed_order(drive):
    """The same drive with its pulleys listed the other way round."""
    out = copy.deepcopy(drive)
    out["pulleys"].reverse()
    return out
