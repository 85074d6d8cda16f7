"""The route drawn to scale: finished texts for a picture whose unit is one pixel of a phone 360 wide.

The belt is drawn on the effective line, so its length in the picture is the path's. A thick line is the belt's back
and a thin one beside it its ribs (or V flanks); a pulley with an inner ring is grooved, one with a plain rim flat.
"""

import math

from . import belts
from . import drive_form
from . import numbers

WIDTH = 360.0
_TALLEST = 430.0
_SIDE = 22.0
_ABOVE = 28.0
_BELOW = 46.0
# One pulley alone is not blown up to fill the page [units per mm].
_LARGEST_SCALE = 1.4
# How far the thin line of the ribs lies from the belt's own line [units].
_RIB_GAP = 4.2
_LETTER = 7.4
_LINE = 16.0
_BOLD = 1.15
_ONE_LINE = 13
_LONGEST_LINE = 18
# Smallest pulley that has room for its number and its turning arrow [units].
_ROOM = 12.0
_TURNS = ["right", "up and right", "up", "up and left", "left", "down and left", "down", "down and right"]


def _t(value):
    return numbers.fixed(value, 2)


class _Frame:
    """From millimetres, y up, to the picture's units, y down."""

    def __init__(self, points):
        self.low_x = min([p[0] for p in points])
        self.high_x = max([p[0] for p in points])
        self.low_y = min([p[1] for p in points])
        self.high_y = max([p[1] for p in points])
        wide = max(1.0, self.high_x - self.low_x)
        tall = max(1.0, self.high_y - self.low_y)
        self.scale = min((WIDTH - 2 * _SIDE) / wide, _TALLEST / tall, _LARGEST_SCALE)
        self.height = tall * self.scale + _ABOVE + _BELOW
        self.left = (WIDTH - wide * self.scale) / 2

    def at(self, x, y):
        return self.left + (x - self.low_x) * self.scale, _ABOVE + (self.high_y - y) * self.scale


def drawing(drive: dict, solved: dict = None, best: dict = None, rest: dict = None):
    """Return the picture of a drive's route.

    Parameters:  drive: a drive, perhaps half entered (see `drive_form.parts`) [mm] · solved: `drive.solve` of it, None
                 when it cannot be solved · best: the span to measure {"from", "to", "text": its length} or None ·
                 rest: `tensioner.rest` of it or None
    Returns:     None when no pulley has a place; else {"view_box", "belt", "ribs", "measured": paths, "" when there is
                 none, "arrows": points of the triangles that show the belt's way, "pulleys": [{"x", "y", "r", "inner":
                 of a grooved pulley or "", "sized", "number", "turn": path of the turning arrow, "head": its points,
                 "mark": {"x", "y"} of a faulty one or None}], "labels": [{"lines": [{"x", "y", "text"}], "leader":
                 {"x1", "y1", "x2", "y2"} or None, "measure": whether it names the span to measure}], "arm", "slot",
                 "orbit": see `_tensioner`, "bar": {"x1", "x2", "y", "text", "text_y"}}; numbers as texts in units
    Raises:      CoreError as `drive_form.parts`
    Source:      plane geometry; see `layout`
    """
    full = drive_form.parts(drive)
    placed = [i for i in range(len(full["pulleys"])) if _known(full["pulleys"][i])]
    if not placed:
        return None
    frame = _Frame(_extent(full, placed, rest))
    circles = [_circle(frame, full["pulleys"][i]) if i in placed else None for i in range(len(full["pulleys"]))]
    route = _Route(frame, full, solved, circles)
    picture = {"view_box": "0 0 360 " + _t(frame.height), "belt": route.path(0.0), "ribs": route.path(_RIB_GAP),
               "measured": "", "arrows": route.arrows(), "bar": _bar(frame),
               "pulleys": [_pulley(full, solved, i, circles[i]) for i in placed]}
    picture.update(_tensioner(frame, full, rest, circles))
    board = _Board(frame, circles, route.segments)
    board.keep_clear_of(picture["arm"], picture["slot"])
    picture["labels"] = []
    k = route.place_of(best)
    if k is not None:
        segment = route.segments[k]
        picture["measured"] = "M" + _t(segment[0]) + " " + _t(segment[1]) + "L" + _t(segment[2]) + " " + _t(segment[3])
        picture["labels"].append(board.beside(segment, ["measure", best["text"]]))
    for i in sorted(placed, key=lambda i: (circles[i][2], i), reverse=True):
        picture["labels"].append(board.name(circles[i], _lines(full, i, circles[i]), route.outwards(i)))
    return picture


def _known(pulley):
    return pulley["x_mm"] is not None and pulley["y_mm"] is not None


def _circle(frame, pulley):
    """(x, y, radius) in units; a pulley of unknown size is drawn small."""
    x, y = frame.at(pulley["x_mm"], pulley["y_mm"])
    return (x, y, 10.0 if pulley["diameter_mm"] is None else pulley["diameter_mm"] / 2 * frame.scale)


def _extent(full, placed, rest):
    """Points that have to be inside the picture [mm]."""
    points = []
    for i in placed:
        pulley = full["pulleys"][i]
        radius = 10.0 if pulley["diameter_mm"] is None else pulley["diameter_mm"] / 2
        points += [(pulley["x_mm"] - radius, pulley["y_mm"] - radius), (pulley["x_mm"] + radius, pulley["y_mm"] + radius)]
    data = full["tensioner"]
    if data["pivot_x_mm"] is not None and data["pivot_y_mm"] is not None:
        points.append((data["pivot_x_mm"], data["pivot_y_mm"]))
    if rest is not None:
        points.append((rest["x_mm"], rest["y_mm"]))
    return points


class _Route:
    """The belt's way round the pulleys, in units."""

    def __init__(self, frame, full, solved, circles):
        self.full = full
        self.solved = solved
        self.circles = circles
        self.segments = []
        for i in range(len(circles)):
            span = solved["spans"][i] if solved is not None else None
            if span is None or span["length_mm"] is None:
                self.segments.append(None)
            else:
                self.segments.append(frame.at(span["x1_mm"], span["y1_mm"]) + frame.at(span["x2_mm"], span["y2_mm"]))

    def _shifted(self, i, x, y, towards_ribs):
        """A point of contact moved along the pulley's radius to the side of the ribs."""
        cx, cy, _ = self.circles[i]
        dx = x - cx
        dy = y - cy
        # A cord line far inside the belt can leave a small pulley no radius at all.
        radius = max(1e-6, math.sqrt(dx * dx + dy * dy))
        if self.full["pulleys"][i]["face"] == "ribs":
            towards_ribs = -towards_ribs
        # On a very small pulley the line of the ribs would pass its centre.
        part = max(0.1, 1 + towards_ribs / radius)
        return cx + dx * part, cy + dy * part, radius * part

    def path(self, towards_ribs):
        """The belt as an SVG path, moved sideways; broken where a number is lacking."""
        count = len(self.segments)
        text = ""
        for i in range(count):
            segment = self.segments[i]
            if segment is None:
                continue
            j = (i + 1) % count
            x1, y1, _ = self._shifted(i, segment[0], segment[1], towards_ribs)
            x2, y2, radius = self._shifted(j, segment[2], segment[3], towards_ribs)
            if self.segments[i - 1] is None or not text:
                text += "M" + _t(x1) + " " + _t(y1)
            text += "L" + _t(x2) + " " + _t(y2)
            after = self.segments[j]
            if after is None:
                continue
            x3, y3, _ = self._shifted(j, after[0], after[1], towards_ribs)
            wrap = self.solved["wraps"][j]["deg"]
            text += ("A" + _t(radius) + " " + _t(radius) + " 0 " + ("1 " if wrap > 180 else "0 ")
                     + ("0 " if self._anticlockwise(j) else "1 ") + _t(x3) + " " + _t(y3))
        return text + "Z" if text and None not in self.segments else text

    def _anticlockwise(self, i):
        """Whether the listed order runs anticlockwise round a pulley."""
        turns = self.solved["wraps"][i]["sense"] == "anticlockwise"
        return turns == self.solved["runs_as_listed"]

    def arrows(self):
        """A triangle in the middle of each span that is long enough, pointing as the belt runs."""
        out = []
        for segment in self.segments:
            if segment is None or _length(segment) < 34:
                continue
            x1, y1, x2, y2 = segment
            turn = math.atan2(y2 - y1, x2 - x1) + (0.0 if self.solved["runs_as_listed"] else math.pi)
            out.append(_head((x1 + x2) / 2, (y1 + y2) / 2, turn, 10.0))
        return out

    def place_of(self, best):
        """The place of the span to measure, or None."""
        if best is None or self.solved is None:
            return None
        for i in range(len(self.segments)):
            span = self.solved["spans"][i]
            if self.segments[i] is not None and span["from"] == best["from"] and span["to"] == best["to"]:
                return i
        return None

    def outwards(self, i):
        """The direction from a pulley's centre to the middle of its belt [rad], where no other span is; else upwards."""
        before = self.segments[i - 1]
        after = self.segments[i]
        if before is None or after is None:
            return -math.pi / 2
        cx, cy, _ = self.circles[i]
        first = math.atan2(before[3] - cy, before[2] - cx)
        half = math.radians(self.solved["wraps"][i]["deg"]) / 2
        return first + (-half if self._anticlockwise(i) else half)


def _length(segment):
    return math.sqrt((segment[2] - segment[0]) ** 2 + (segment[3] - segment[1]) ** 2)


def _head(x, y, turn, size):
    """A triangle about a point, its tip in a direction [rad]."""
    points = []
    for angle, far in ((0.0, size), (2.3, 0.8 * size), (-2.3, 0.8 * size)):
        points.append(_t(x + far * math.cos(turn + angle)) + "," + _t(y + far * math.sin(turn + angle)))
    return " ".join(points)


def _pulley(full, solved, i, circle):
    pulley = full["pulleys"][i]
    x, y, radius = circle
    grooved = (pulley["rim"] or ("grooved" if pulley["face"] == "ribs" or full["belt"]["double_sided"] else "flat")) == "grooved"
    out = {"x": _t(x), "y": _t(y), "r": _t(radius), "inner": _t(radius - 5) if grooved and radius > _ROOM else "",
           "sized": pulley["diameter_mm"] is not None, "number": str(i + 1) if radius >= _ROOM else "", "turn": "", "head": "",
           "mark": None}
    if solved is None:
        return out
    if radius >= _ROOM:
        out["turn"], out["head"] = _turning(x, y, max(8.0, radius - 11), solved["wraps"][i]["sense"])
    for fault in solved["faults"]:
        if fault["weight"] != "note" and pulley["name"] in fault["pulleys"]:
            aside = 0.7 * max(radius, 18.0)
            out["mark"] = {"x": _t(x + aside), "y": _t(y - aside)}
    return out


def _turning(x, y, radius, sense):
    """An arrow over the top of a pulley: (path, points of its head)."""
    way = 1.0 if sense == "clockwise" else -1.0
    start = math.radians(-90 - way * 65)
    end = math.radians(-90 + way * 45)
    path = ("M" + _t(x + radius * math.cos(start)) + " " + _t(y + radius * math.sin(start)) + "A" + _t(radius) + " " + _t(radius)
            + (" 0 0 1 " if way > 0 else " 0 0 0 ") + _t(x + radius * math.cos(end)) + " " + _t(y + radius * math.sin(end)))
    return path, _head(x + radius * math.cos(end), y + radius * math.sin(end), end + way * math.pi / 2, 6.0)


def _line(x1, y1, x2, y2):
    return {"x1": _t(x1), "y1": _t(y1), "x2": _t(x2), "y2": _t(y2)}


def _tensioner(frame, full, rest, circles):
    """What moves the tensioner's pulley.

    {"arm": {"line", "x", "y": of the pivot, "dial": path from stop to stop or "", "marks": lines, "pointer": points
    where the arm rests or "", "ghost": {"x", "y", "r"} of the pulley there or None} or None, "slot": line or None,
    "orbit": {"x", "y", "r"} of an eccentric or None}
    """
    out = {"arm": None, "slot": None, "orbit": None}
    data = full["tensioner"]
    names = [p["name"] for p in full["pulleys"]]
    if data["pulley"] not in names or circles[names.index(data["pulley"])] is None:
        return out
    x, y, radius = circles[names.index(data["pulley"])]
    if data["slot_deg"] is not None and data["kind"] in ("slotted", "lead_screw"):
        # The axis of the slot, through the pulley and out on both sides; its travel is told in words.
        turn = math.radians(data["slot_deg"])
        dx, dy = (radius + 15) * math.cos(turn), (radius + 15) * math.sin(turn)
        out["slot"] = _line(x - dx, y + dy, x + dx, y - dy)
        return out
    if data["pivot_x_mm"] is None or data["pivot_y_mm"] is None:
        return out
    px, py = frame.at(data["pivot_x_mm"], data["pivot_y_mm"])
    if data["kind"] == "eccentric":
        out["orbit"] = {"x": _t(px), "y": _t(py), "r": _t(_length((px, py, x, y)))}
        return out
    out["arm"] = _arm(data, rest, (px, py), (x, y, radius))
    return out


def _arm(data, rest, pivot, pulley):
    px, py = pivot
    far = _length((px, py, pulley[0], pulley[1]))
    # Between pivot and pulley, as far as there is room.
    dial = max(15.0, min(0.6 * far, far - pulley[2] - 7))

    def on_dial(angle, radius):
        return px + radius * math.cos(math.radians(angle)), py - radius * math.sin(math.radians(angle))

    arm = {"line": _line(px, py, pulley[0], pulley[1]), "x": _t(px), "y": _t(py), "dial": "", "marks": [], "pointer": "", "ghost": None}
    if data["stops_deg"] is not None:
        low, high = min(data["stops_deg"]), max(data["stops_deg"])
        x1, y1 = on_dial(low, dial)
        x2, y2 = on_dial(high, dial)
        arm["dial"] = ("M" + _t(x1) + " " + _t(y1) + "A" + _t(dial) + " " + _t(dial) + (" 0 1 0 " if high - low > 180 else " 0 0 0 ")
                       + _t(x2) + " " + _t(y2))
    for mark in data["marks_deg"] or []:
        arm["marks"].append(_line(*(on_dial(mark, dial - 4) + on_dial(mark, dial + 4))))
    if rest is not None:
        x, y = on_dial(rest["angle_deg"], dial - 8)
        arm["pointer"] = _head(x, y, math.atan2(y - py, x - px), 7.0)
        x, y = on_dial(rest["angle_deg"], far)
        if _length((x, y, pulley[0], pulley[1])) > 2:
            arm["ghost"] = {"x": _t(x), "y": _t(y), "r": _t(pulley[2])}
    return arm


def _bar(frame):
    """A scale bar of 20 to 500 mm, about a quarter of the picture wide."""
    most = WIDTH / 3 / frame.scale
    length = 10
    for step in (20, 50, 100, 200, 500, 1000):
        if step <= most:
            length = step
    y = frame.height - 12
    return {"x1": _t(12.0), "x2": _t(12.0 + length * frame.scale), "y": _t(y), "text_y": _t(y - 6), "text": str(length) + " mm"}


def _lines(full, i, circle):
    """A pulley's name in one line or two; its number goes along where the pulley is too small for it."""
    text = full["pulleys"][i]["name"] or ""
    if circle[2] < _ROOM:
        text = str(i + 1) + " " + text
    if len(text) <= _ONE_LINE or " " not in text:
        return [_cut(text)]
    words = text.split(" ")
    best = None
    for k in range(1, len(words)):
        pair = [" ".join(words[:k]), " ".join(words[k:])]
        if best is None or max(len(pair[0]), len(pair[1])) < max(len(best[0]), len(best[1])):
            best = pair
    return [_cut(line) for line in best]


def _cut(text):
    return text if len(text) <= _LONGEST_LINE else text[:_LONGEST_LINE - 1] + "…"


class _Board:
    """Where texts can stand without covering the belt, a pulley or each other."""

    def __init__(self, frame, circles, segments):
        self.circles = [c for c in circles if c is not None]
        self.segments = [s for s in segments if s is not None]
        # The scale bar keeps its corner.
        self.boxes = [(70.0, frame.height - 16, 66.0, 14.0)]
        self.height = frame.height

    def keep_clear_of(self, arm, slot):
        for line in ([arm["line"]] if arm is not None else []) + ([slot] if slot is not None else []):
            self.segments.append((float(line["x1"]), float(line["y1"]), float(line["x2"]), float(line["y2"])))
        if arm is not None:
            self.circles.append((float(arm["x"]), float(arm["y"]), 9.0))

    def cost(self, box):
        """How much a box (centre, half sizes) covers; 0 is free."""
        x, y, wide, tall = box
        cost = 0
        if x - wide < 3 or x + wide > WIDTH - 3 or y - tall < 2 or y + tall > self.height - 2:
            cost += 10
        for sx1, sy1, sx2, sy2 in self.segments:
            ex = abs(sx2 - sx1) / 2
            ey = abs(sy2 - sy1) / 2
            cx = (sx1 + sx2) / 2 - x
            cy = (sy1 + sy2) / 2 - y
            across = abs((sx2 - sx1) * cy - (sy2 - sy1) * cx) / 2
            if abs(cx) <= wide + 6 + ex and abs(cy) <= tall + 6 + ey and across <= (wide + 6) * ey + (tall + 6) * ex:
                cost += 4
        for cx, cy, radius in self.circles:
            dx = max(0.0, abs(cx - x) - wide)
            dy = max(0.0, abs(cy - y) - tall)
            if dx * dx + dy * dy < (radius + 5) * (radius + 5):
                cost += 4
        for bx, by, bw, bt in self.boxes:
            if abs(bx - x) < wide + bw + 2 and abs(by - y) < tall + bt + 1:
                cost += 8
        return cost

    def _best(self, boxes):
        """The first box that covers nothing, or the one that covers least, and its place."""
        best = None
        for k in range(len(boxes)):
            cost = self.cost(boxes[k])
            if best is None or cost < best[0]:
                best = (cost, k)
            if cost == 0:
                break
        self.boxes.append(boxes[best[1]])
        return boxes[best[1]], best[1]

    def name(self, circle, lines, outwards):
        """Put a pulley's name inside it when there is room, else beside it, first where its belt lies, then opposite."""
        x, y, radius = circle
        wide, tall = _size(lines)
        low = 12 + 2 * tall
        if radius > low + 12 and math.sqrt((radius - 10) ** 2 - low * low) > wide:
            box = (x, y + 12 + tall, wide, tall)
            self.boxes.append(box)
            return _label(box, lines)
        boxes = []
        for gap in (9, 22):
            for step in (0, 8, 1, -1, 7, -7, 2, -2, 6, -6, 3, -3, 5, -5, 4, -4):
                turn = outwards + step * math.pi / 8
                c, s = math.cos(turn), math.sin(turn)
                # The box just touches the circle that is wider by the gap.
                far = radius + gap + min(wide / abs(c) if abs(c) > 1e-9 else 1e9, tall / abs(s) if abs(s) > 1e-9 else 1e9)
                boxes.append((x + far * c, y + far * s, wide, tall))
        box, k = self._best(boxes)
        label = _label(box, lines)
        if k >= 16:
            dx, dy = box[0] - x, box[1] - y
            far = math.sqrt(dx * dx + dy * dy)
            edge = min(wide / abs(dx) if dx else 1e9, tall / abs(dy) if dy else 1e9)
            label["leader"] = _line(x + dx / far * (radius + 3), y + dy / far * (radius + 3),
                                    box[0] - dx * edge, box[1] - dy * edge)
        return label

    def beside(self, segment, lines):
        """Put the words of the span to measure beside it."""
        wide, tall = _size(lines)
        wide *= _BOLD
        x1, y1, x2, y2 = segment
        length = _length(segment)
        nx, ny = (y2 - y1) / length, (x1 - x2) / length
        boxes = []
        for gap in (16, 26):
            far = gap + abs(nx) * wide + abs(ny) * tall
            for part in (0.5, 0.35, 0.65, 0.2, 0.8):
                for side in (1.0, -1.0):
                    boxes.append((x1 + part * (x2 - x1) + side * far * nx, y1 + part * (y2 - y1) + side * far * ny, wide, tall))
        box, _ = self._best(boxes)
        label = _label(box, lines)
        label["measure"] = True
        return label


def _size(lines):
    """Half width and half height of lines of text."""
    return max([len(line) for line in lines]) * _LETTER / 2 + 2, len(lines) * _LINE / 2


def _label(box, lines):
    x, y, _, tall = box
    # A line's base lies about three quarters down.
    return {"lines": [{"x": _t(x), "y": _t(y - tall + _LINE * (k + 0.76)), "text": lines[k]} for k in range(len(lines))],
            "leader": None, "measure": False}


def thread(drive: dict, solved: dict, lengths: list) -> list:
    """Return the route in words, pulley by pulley in the listed order.

    Parameters:  drive: a drive in its full form · solved: `drive.solve` of it · lengths: text of each span's length, "" where
                 it is not known
    Returns:     [{"number", "name", "how", "then"}], such as "1", "crank", "ribs, turns clockwise", "then up and right,
                 212 mm, to 2 compressor"
    Source:      the order as listed; directions as seen from the belt side
    """
    pulleys = drive["pulleys"]
    section = drive["belt"]["section"]
    ribs = "ribs or V flanks" if section is None else "ribs" if belts.is_ribbed(section) else "V flanks"
    out = []
    for i in range(len(pulleys)):
        j = (i + 1) % len(pulleys)
        wrap = solved["wraps"][i]
        how = ("back of the belt" if pulleys[i]["face"] == "back" else ribs + " of the belt") + ", turns " + wrap["sense"]
        if wrap["deg"] is not None:
            how += ", " + numbers.fixed(wrap["deg"], 0) + "° of contact"
        span = solved["spans"][i]
        then = "then "
        if span["length_mm"] is not None:
            turn = math.atan2(span["y2_mm"] - span["y1_mm"], span["x2_mm"] - span["x1_mm"])
            then += _TURNS[int(math.floor(turn / (math.pi / 4) + 0.5)) % 8] + ", " + lengths[i] + ", "
        out.append({"number": str(i + 1), "name": pulleys[i]["name"], "how": how, "then": then + "to " + str(j + 1) + " " + pulleys[j]["name"]})
    return out
