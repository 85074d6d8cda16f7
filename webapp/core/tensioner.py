"""Tensioners: where an arm rests with a belt, and how far a manual one has to be moved."""

import math

from . import drive_form
from . import layout
from . import roots
from .errors import CoreError

# Kinds that an arm and a spring keep tight, that a hand sets, and that only the belt's own length sets.
ARM = ("automatic", "automatic_set", "hydraulic")
MANUAL = ("slotted", "lead_screw", "eccentric")
LENGTH = ("stretch_fit", "fixed")

# Below this share of the arm's length the lever is too short to trust: the arm is near its dead point (ours).
_DEAD_LEVER = 0.08
# Look this far either side of where the arm is drawn when its stops are not known [deg].
_REACH_DEG = 75.0
_STEP_DEG = 5.0
_STEPS_BACK = 40
# A drawn belt may differ from its path by this much before a fixed drive is called wrong (ours): the
# length tolerance of an ordinary belt, and what a tape measure misses.
_TAPE_PART = 0.01
# Mounted length over free length of stretch-fit belts: from memory.
_STRETCH_PART = (0.005, 0.04)
_ANGLE_WIDTH = 1e-12


def _missing(field):
    raise CoreError("number-missing", field)


def _need(part, keys, path):
    for key in keys:
        if part[key] is None:
            _missing(path + key)


def _near(angle, centre):
    """The same direction, written within half a turn of another one [deg]."""
    return angle - 360.0 * math.floor((angle - centre) / 360.0 + 0.5)


class Arm:
    """A spring arm with its pulley in a drive.

    Parameters:  full: a drive in its full form · laid: its `layout.lay_out`
    Raises:      CoreError "number-missing", "route-crossed", "no-such-pulley", "arm-on-pivot", "over-centre"
    """

    def __init__(self, full, laid):
        data = full["tensioner"]
        if data["pulley"] is None:
            _missing("tensioner.pulley")
        _need(data, ("pivot_x_mm", "pivot_y_mm", "torque_nm", "at_deg", "rate_nm_per_deg"), "tensioner.")
        need_route(full, laid)
        i = drive_form.index_of(full, data["pulley"])
        pulley = full["pulleys"][i]
        self.data = data
        self.x = data["pivot_x_mm"]
        self.y = data["pivot_y_mm"]
        dx = pulley["x_mm"] - self.x
        dy = pulley["y_mm"] - self.y
        self.length = math.sqrt(dx * dx + dy * dy)
        if self.length < 1.0:
            raise CoreError("arm-on-pivot", "tensioner.pivot_x_mm")
        self.moving = layout.Moving(laid, i)
        self.drawn = _near(math.degrees(math.atan2(dy, dx)), data["at_deg"])
        self.way = 1.0
        lever = self.at(self.drawn)[1]
        if abs(lever) < 1e-6 * self.length:
            raise CoreError("over-centre", "tensioner.pivot_x_mm")
        # +1 when a larger angle takes up belt.
        self.way = 1.0 if lever > 0 else -1.0

    def at(self, angle):
        """Return (effective path [mm], lever dL/dtheta towards tight [mm], x, y, found) at an angle [deg], or None."""
        theta = math.radians(angle)
        dx = self.length * math.cos(theta)
        dy = self.length * math.sin(theta)
        found = self.moving.at(self.x + dx, self.y + dy)
        if found is None:
            return None
        return (found[0], self.way * (found[2] * dx - found[1] * dy), self.x + dx, self.y + dy, found)

    def torque(self, angle):
        """Return the spring torque at an angle [N m]; never below zero, a spring does not push."""
        given = self.data
        back = self.way * (given["at_deg"] - angle)
        return max(0.0, given["torque_nm"] + given["rate_nm_per_deg"] * back)

    def tension(self, angle, lever):
        """Return the strand tension that balances the spring [N]."""
        return self.torque(angle) / (lever / 1000)

    def limit(self, towards):
        """Return (angle, dead): how far the arm can go, and whether a dead point ends it; else a pulley does.

        Parameters:  towards: +1 to take up belt, -1 to give it back
        """
        last = self.drawn
        steps = int(_REACH_DEG / _STEP_DEG)
        for k in range(1, steps + 1):
            angle = self.drawn + self.way * towards * k * _STEP_DEG
            if not self._alive(angle):
                return self._edge(last, angle), self.at(angle) is not None
            last = angle
        return last, False

    def _alive(self, angle):
        found = self.at(angle)
        return found is not None and found[1] > _DEAD_LEVER * self.length

    def _edge(self, good, bad):
        for _ in range(20):
            middle = 0.5 * (good + bad)
            if self._alive(middle):
                good = middle
            else:
                bad = middle
        return good


def need_route(full: dict, laid: dict) -> None:
    """Refuse to compute tensions on a route that is not fully known, or that crosses itself.

    Parameters:  full: a drive in its full form · laid: its `layout.lay_out`
    Raises:      CoreError "number-missing" with the number's path, "route-crossed"
    """
    lacking = drive_form.missing(full)
    lacking = [path for path in lacking if path != "belt.effective_mm"]
    if lacking:
        _missing(lacking[0])
    if not laid["sound"]:
        raise CoreError("route-crossed", "pulleys")
    if laid["belt"]["axial_n"] is None:
        _missing("belt.ribs")


def _travel(arm):
    """Return {"free", "full": angles of the ends of the arm's travel, "known", "dead": angle of a dead point or None}.

    The free end is where the arm stands without a belt; the full end is where it is pushed back to fit one.
    """
    free, free_dead = arm.limit(1.0)
    full, full_dead = arm.limit(-1.0)
    out = {"free": free, "full": full, "known": False, "dead": free if free_dead else None}
    stops = arm.data["stops_deg"]
    if stops is None:
        return out
    ends = [_near(stops[0], arm.drawn), _near(stops[1], arm.drawn)]
    if (ends[0] - ends[1]) * arm.way < 0:
        ends = [ends[1], ends[0]]
    out["known"] = True
    # A stop beyond a dead point is never reached by a tight belt.
    out["dead"] = free if free_dead and (ends[0] - free) * arm.way > 0 else None
    out["free"] = _between(ends[0], full, free)
    out["full"] = _between(ends[1], full, free)
    return out


def _between(angle, one, other):
    """The angle itself, or the nearer of two ends when it lies outside them."""
    return min(max(angle, min(one, other)), max(one, other))


def _belt_length(laid, effective_mm, tension):
    """Cord length of the belt under a tension [mm]; the printed length holds at the measuring tension."""
    belt = laid["belt"]
    cord = effective_mm + 2 * math.pi * belt["differential_mm"]
    return cord * (1 + (tension - belt["measuring_n"]) / belt["axial_n"][0])


def _surplus(arm, laid, effective_mm, angle, extra_n):
    """How much longer the path is than the stretched belt when the arm stands there [mm].

    extra_n is by how much the belt's mean tension exceeds the tension at the arm, as when running.
    """
    found = arm.at(angle)
    path = found[0] + 2 * math.pi * laid["belt"]["differential_mm"]
    return path - _belt_length(laid, effective_mm, arm.tension(angle, found[1]) + extra_n)


def _effective_for(arm, laid, angle):
    """The effective length of the belt with which the arm rests at an angle [mm], None off the belt."""
    found = arm.at(angle)
    if found is None or found[1] <= _DEAD_LEVER * arm.length:
        return None
    belt = laid["belt"]
    path = found[0] + 2 * math.pi * belt["differential_mm"]
    stretch = 1 + (arm.tension(angle, found[1]) - belt["measuring_n"]) / belt["axial_n"][0]
    return path / stretch - 2 * math.pi * belt["differential_mm"]


def _arm_of(drive):
    full = drive_form.form(drive)
    kind = full["tensioner"]["kind"]
    if kind not in ARM:
        raise CoreError("tensioner-no-arm", "tensioner.kind", {"kind": kind})
    laid = layout.lay_out(full)
    return full, laid, Arm(full, laid)


def rest(drive: dict) -> dict:
    """Return where an automatic or hydraulic tensioner stands with the drive's belt, engine stopped.

    Find theta with L_path(theta) = L_belt (1 + (T - T_0) / EA) and T = M(theta) / r, r = dL/dtheta
    (virtual work). T_0 is the tension at which the printed length is defined. Friction holds the arm
    anywhere within T = M (1 -+ friction) / r.

    Parameters:  drive: a drive as plain data with an arm (see `drive_form`) [mm, deg, N m]
    Returns:     {"angle_deg", "tension_n", "low_n", "high_n": friction band, "torque_nm", "lever_mm": r,
                 "x_mm", "y_mm": of its pulley, "angle_low_deg", "angle_high_deg": over the range of the
                 cord-to-back distance, "tightens": sense in which the arm takes up belt, "free_deg", "full_deg":
                 ends of its travel, "stops_known", "travel_used": 0 at the free end to 1 at the full end,
                 "take_up_mm": belt length it can still take up before the free end, "take_up_percent",
                 "dead_deg": angle near which it would go over centre, or None, "marks": [near free, near full] or
                 None, "in_marks": true, false or None, "window_mm": [shortest, longest] effective length
                 that keeps it inside the marks, or None, "faults": list as `drive.faults`}
    Valid:       one arm, friction below 0.95; belt stopped (running adds m v^2 to every tension)
    Raises:      CoreError "tensioner-no-arm", "number-missing" with the number's path, "route-crossed",
                 "arm-on-pivot", "over-centre", "belt-too-long", "belt-too-short"
    Source:      virtual work; belt elasticity as in Beikmann, Perkins and Ulsoy, J. Vib. Acoust. 118 (1996)
                 (page not seen); friction band SAE 980839 (abstract)
    """
    full, laid, arm = _arm_of(drive)
    _need(full["belt"], ("effective_mm",), "belt.")
    effective = full["belt"]["effective_mm"]
    travel = _travel(arm)
    angle = _rest_angle(arm, laid, effective, travel)
    return _described(full, laid, arm, travel, angle)


def _rest_angle(arm, laid, effective, travel, extra_n=0.0):
    free = travel["free"]
    at_free = _surplus(arm, laid, effective, free, extra_n)
    at_full = _surplus(arm, laid, effective, travel["full"], extra_n)
    # Towards a dead point the tension, and with it the belt's stretch, grows without bound: step back from it.
    for k in range(1, _STEPS_BACK):
        if at_free >= 0:
            break
        free = travel["free"] + k * (travel["full"] - travel["free"]) / _STEPS_BACK
        at_free = _surplus(arm, laid, effective, free, extra_n)
    if at_free < 0:
        by = effective - arm.at(travel["free"])[0]
        raise CoreError("belt-too-long", "belt.effective_mm", {"by": _mm(max(1.0, by))})
    if at_full > 0:
        by = arm.at(travel["full"])[0] - effective
        raise CoreError("belt-too-short", "belt.effective_mm", {"by": _mm(max(1.0, by))})
    return roots.bracketed(lambda a: _surplus(arm, laid, effective, a, extra_n), travel["full"], free, _ANGLE_WIDTH)


def _mm(value):
    return str(int(value + 0.5))


def _described(full, laid, arm, travel, angle):
    data = full["tensioner"]
    path, lever, x, y, _ = arm.at(angle)
    tension = arm.tension(angle, lever)
    friction = 0.0 if data["friction"] is None else data["friction"]
    span = travel["full"] - travel["free"]
    take_up = arm.at(travel["free"])[0] - path
    low, high = _angle_range(full, laid, arm, angle, lever)
    marks, window = _marks(arm, laid, data["marks_deg"])
    out = {"angle_deg": angle, "tension_n": tension, "low_n": tension * (1 - friction),
           "high_n": tension * (1 + friction), "torque_nm": arm.torque(angle), "lever_mm": lever, "x_mm": x, "y_mm": y,
           "angle_low_deg": low, "angle_high_deg": high,
           "tightens": "anticlockwise" if arm.way > 0 else "clockwise",
           "free_deg": travel["free"], "full_deg": travel["full"], "stops_known": travel["known"],
           "travel_used": (angle - travel["free"]) / span if span else None, "take_up_mm": take_up,
           "take_up_percent": 100 * take_up / path, "dead_deg": travel["dead"], "marks": marks, "window_mm": window,
           "in_marks": None, "faults": []}
    if marks is not None:
        out["in_marks"] = min(marks) <= angle <= max(marks)
    out["faults"] = _arm_faults(full, out)
    return out


def _angle_range(full, laid, arm, angle, lever):
    """The back pulleys' path grows by wrap times cord-to-back distance; the arm follows by that over the lever."""
    back = laid["belt"]["back_mm"]
    beta = 0.0
    if back is not None and not full["belt"]["double_sided"]:
        for i in range(len(full["pulleys"])):
            if full["pulleys"][i]["face"] == "back":
                beta += laid["wraps"][i]
    if beta == 0:
        return angle, angle
    # More path pushes the arm back, against its way.
    ends = [angle - arm.way * math.degrees(beta * (back[2] - back[0]) / lever),
            angle + arm.way * math.degrees(beta * (back[0] - back[1]) / lever)]
    return min(ends), max(ends)


def _marks(arm, laid, marks):
    """The marks as [near the free end, near the full end], and the lengths that stand the arm on them."""
    if marks is None:
        return None, None
    pair = [_near(marks[0], arm.drawn), _near(marks[1], arm.drawn)]
    if (pair[0] - pair[1]) * arm.way < 0:
        pair = [pair[1], pair[0]]
    longest = _effective_for(arm, laid, pair[0])
    shortest = _effective_for(arm, laid, pair[1])
    return pair, None if longest is None or shortest is None else [shortest, longest]


def _arm_faults(full, out):
    found = []
    name = full["tensioner"]["pulley"]

    def add(code, weight, field, values):
        found.append({"code": code, "weight": weight, "pulleys": [name], "field": field, "values": values})

    if out["in_marks"] is False:
        add("outside-marks", "stop", "belt.effective_mm", {})
    if out["dead_deg"] is not None and abs(out["angle_deg"] - out["dead_deg"]) < 10:
        add("near-dead-point", "check", "tensioner.pivot_x_mm", {"left": _mm(abs(out["angle_deg"] - out["dead_deg"]))})
    if out["take_up_percent"] < 0.3:
        add("little-take-up", "check", "belt.effective_mm", {"left": _mm(out["take_up_mm"])})
    if out["tension_n"] <= 0:
        add("spring-slack", "stop", "tensioner.torque_nm", {})
    return found


def refuse_uncomputed(full: dict) -> None:
    """Refuse a tensioner whose tension cannot be had from the drive.

    Parameters:  full: a drive in its full form
    Raises:      CoreError "two-arm" (only its marks are looked at), "tensioner-unknown"
    """
    kind = full["tensioner"]["kind"]
    if kind == "two_arm":
        raise CoreError("two-arm", "tensioner.kind")
    if kind == "unknown":
        raise CoreError("tensioner-unknown", "tensioner.kind")


def running(full: dict, laid: dict, extra_n: float) -> dict:
    """Return the arm while the engine runs: the loaded spans stretch the belt, and the arm follows.

    Parameters:  full: a drive in its full form · laid: its `layout.lay_out` · extra_n: by how much the
                 belt's mean tension exceeds the static tension at the arm [N]
    Returns:     {"angle_deg", "tension_n": static part at the arm, "lever_mm"}
    Raises:      CoreError as `rest`
    Source:      as `rest`
    """
    arm = Arm(full, laid)
    _need(full["belt"], ("effective_mm",), "belt.")
    angle = _rest_angle(arm, laid, full["belt"]["effective_mm"], _travel(arm), extra_n)
    lever = arm.at(angle)[1]
    return {"angle_deg": angle, "tension_n": arm.tension(angle, lever), "lever_mm": lever}


def compare(drive: dict, effective_mm: float) -> dict:
    """Return where the arm stands with the drive's belt and with another one.

    Parameters:  drive: a drive as plain data with an arm · effective_mm: length of the other belt [mm]
    Returns:     {"one", "other": results of `rest`; a belt that does not fit has {"error": CoreError} instead,
                 "turn_deg": angle between them, positive towards tight, or None, "tension_n": other minus one}
    Raises:      CoreError as `rest`, but for belts that do not fit
    Source:      as `rest`
    """
    full = drive_form.form(drive)
    results = []
    for length in (full["belt"]["effective_mm"], effective_mm):
        full["belt"]["effective_mm"] = length
        try:
            results.append(rest(full))
        except CoreError as error:
            if error.code not in ("belt-too-long", "belt-too-short"):
                raise
            results.append({"error": error})
    one, other = results
    out = {"one": one, "other": other, "turn_deg": None, "tension_n": None}
    if "error" not in one and "error" not in other:
        way = 1.0 if one["tightens"] == "anticlockwise" else -1.0
        out["turn_deg"] = way * (other["angle_deg"] - one["angle_deg"])
        out["tension_n"] = other["tension_n"] - one["tension_n"]
    return out


def length_window(drive: dict) -> list:
    """Return the belt lengths with which the pointer stays between its marks.

    Parameters:  drive: a drive as plain data with an arm and marks
    Returns:     [shortest, longest] effective length [mm], or None without marks or off the belt
    Raises:      CoreError as `rest`, but for the belt's own length, which is not needed
    """
    full, laid, arm = _arm_of(drive)
    return _marks(arm, laid, full["tensioner"]["marks_deg"])[1]


def over_travel(drive: dict, points: int = 40) -> list:
    """Return which belt lengths stand the arm where, and the tension there: the curve of a tensioner.

    Parameters:  drive: a drive as plain data with an arm; its belt's own length is not needed · points: 2 to 400 [-]
    Returns:     [{"effective_mm", "angle_deg", "travel_used", "tension_n", "low_n", "high_n": friction band}] from the full
                 end of the travel to its free end, evenly spaced over the angle
    Raises:      CoreError as `rest`, but for the belt's own length; "out-of-range"
    Source:      as `rest`
    """
    if not 2 <= points <= 400:
        raise CoreError("out-of-range", "points", {"low": "2", "high": "400"})
    full, laid, arm = _arm_of(drive)
    travel = _travel(arm)
    friction = 0.0 if arm.data["friction"] is None else arm.data["friction"]
    out = []
    for k in range(points):
        used = 1 - k / (points - 1)
        angle = travel["free"] + used * (travel["full"] - travel["free"])
        length = _effective_for(arm, laid, angle)
        if length is not None:
            tension = arm.tension(angle, arm.at(angle)[1])
            out.append({"effective_mm": length, "angle_deg": angle, "travel_used": used, "tension_n": tension,
                        "low_n": tension * (1 - friction), "high_n": tension * (1 + friction)})
    return out


def fitted(drive: dict) -> dict:
    """Return the tension of a belt on fixed centres from its own length, engine stopped.

    T = T_0 + EA (L_path / L_belt - 1) on the cord line. A stretch-fit belt's length is its free
    length: T_0 = 0.

    Parameters:  drive: a drive as plain data; its tensioner stands as drawn [mm]
    Returns:     {"tension_n", "low_n", "high_n": over the range of EA, "strain": L_path / L_belt - 1,
                 "settled_n": a stretch-fit belt after it has settled, 50 to 70 % of it, or None}
    Valid:       a slack belt gives 0; the result is only as good as the lengths: 1 mm in 1500 mm is
                 some 100 N for an ordinary 6PK belt, so measure when you can
    Raises:      CoreError "number-missing", "route-crossed", "two-arm"; "tensioner-unknown"
    Source:      Hooke's law; settling of stretch-fit belts 30 to 50 % from memory
    """
    full = drive_form.form(drive)
    refuse_uncomputed(full)
    laid = layout.lay_out(full)
    need_route(full, laid)
    _need(full["belt"], ("effective_mm",), "belt.")
    belt = laid["belt"]
    cord = full["belt"]["effective_mm"] + 2 * math.pi * belt["differential_mm"]
    strain = laid["pitch_mm"] / cord - 1
    out = [max(0.0, belt["measuring_n"] + ea * strain) for ea in belt["axial_n"]]
    settled = [0.5 * out[0], 0.7 * out[0]] if full["tensioner"]["kind"] == "stretch_fit" else None
    return {"tension_n": out[0], "low_n": min(out), "high_n": max(out), "strain": strain, "settled_n": settled}


def turn_for(drive: dict, target_n: float, now_n: float) -> dict:
    """Return how far to move a manual tensioner from where it is drawn.

    The path has to grow by dL = L_belt (T_target - T_now) / EA; the move along the slot or about the
    pivot that does it is found on the exact geometry.

    Parameters:  drive: a drive as plain data with a slotted, lead_screw or eccentric tensioner ·
                 target_n: wanted strand tension, 0 to 5000 [N] · now_n: tension as it is [N]
    Returns:     {"path_mm": dL, "mm": move along the slot, positive along slot_deg (None about a pivot), "deg":
                 turn about the pivot, positive anticlockwise (None in a slot), "sense": of that turn,
                 "turns": of the lead screw or None, "low", "high": the move over the range of EA, "x_mm",
                 "y_mm": where the pulley then is, "enough": whether the travel allows it, None unknown}
    Valid:       small moves; move in steps and measure again: the belt's stiffness is known within a
                 factor of two or three only
    Raises:      CoreError "tensioner-not-manual", "number-missing", "route-crossed", "out-of-range",
                 "move-too-far" when no position reaches the target
    Source:      Hooke's law on the belt, plane geometry of the path
    """
    full = drive_form.form(drive)
    data = full["tensioner"]
    if data["kind"] not in MANUAL:
        raise CoreError("tensioner-not-manual", "tensioner.kind", {"kind": data["kind"]})
    for name, value in (("target_n", target_n), ("now_n", now_n)):
        if not 0 <= value <= 5000:
            raise CoreError("out-of-range", name, {"low": "0", "high": "5000"})
    laid = layout.lay_out(full)
    need_route(full, laid)
    if data["pulley"] is None:
        _missing("tensioner.pulley")
    slot = _Slide(full, laid)
    moves = []
    for ea in laid["belt"]["axial_n"]:
        moves.append(slot.move_for(laid["pitch_mm"] * (target_n - now_n) / ea))
    return slot.described(moves, laid["pitch_mm"] * (target_n - now_n) / laid["belt"]["axial_n"][0])


def move_for_length(drive: dict, effective_mm: float) -> dict:
    """Return how far to move a manual tensioner so that another belt is as tight as the drive's own.

    At the same tension the path has to differ by as much as the belts do; the move is found on the exact geometry.

    Parameters:  drive: a drive as plain data with a slotted, lead_screw or eccentric tensioner, drawn where it holds the
                 drive's own belt · effective_mm: length of the other belt, 100 to 10000 [mm]
    Returns:     as `turn_for`; "low" and "high" are the move itself
    Valid:       the drawing holds the drive's own belt at its tension
    Raises:      CoreError "tensioner-not-manual", "number-missing", "route-crossed", "out-of-range", "move-too-far" with
                 the field "belt.effective_mm" when no position reaches that length
    Source:      plane geometry of the path
    """
    full = drive_form.form(drive)
    kind = full["tensioner"]["kind"]
    if kind not in MANUAL:
        raise CoreError("tensioner-not-manual", "tensioner.kind", {"kind": kind})
    if not 100 <= effective_mm <= 10000:
        raise CoreError("out-of-range", "effective_mm", {"low": "100", "high": "10000"})
    _need(full["belt"], ("effective_mm",), "belt.")
    laid = layout.lay_out(full)
    need_route(full, laid)
    if full["tensioner"]["pulley"] is None:
        _missing("tensioner.pulley")
    slot = _Slide(full, laid)
    longer = effective_mm - full["belt"]["effective_mm"]
    move = slot.move_for(longer)
    if move is None:
        raise CoreError("move-too-far", "belt.effective_mm")
    return slot.described([move], longer)


class _Slide:
    """The one way in which a manual tensioner's pulley can move: along a slot or about a pivot."""

    def __init__(self, full, laid):
        data = full["tensioner"]
        i = drive_form.index_of(full, data["pulley"])
        self.data = data
        self.start_x = full["pulleys"][i]["x_mm"]
        self.start_y = full["pulleys"][i]["y_mm"]
        self.moving = layout.Moving(laid, i)
        self.start = laid["effective_mm"]
        self.straight = data["slot_deg"] is not None and data["kind"] != "eccentric"
        if self.straight:
            self.cosine = math.cos(math.radians(data["slot_deg"]))
            self.sine = math.sin(math.radians(data["slot_deg"]))
            self.reach = data["travel_mm"] or [-100.0, 100.0]
        else:
            if data["kind"] != "eccentric" and data["pivot_x_mm"] is None:
                _missing("tensioner.slot_deg")
            _need(data, ("pivot_x_mm", "pivot_y_mm"), "tensioner.")
            self.dx = self.start_x - data["pivot_x_mm"]
            self.dy = self.start_y - data["pivot_y_mm"]
            if abs(self.dx) + abs(self.dy) < 0.1:
                raise CoreError("arm-on-pivot", "tensioner.pivot_x_mm")
            # An eccentric takes up belt over half a turn at most; a swinging bracket over much less.
            self.reach = [-170.0, 170.0] if data["kind"] == "eccentric" else [-40.0, 40.0]

    def place(self, move):
        """Centre of the pulley after a move along the slot [mm] or about the pivot [deg]."""
        if self.straight:
            return self.start_x + move * self.cosine, self.start_y + move * self.sine
        turn = math.radians(move)
        return (self.data["pivot_x_mm"] + self.dx * math.cos(turn) - self.dy * math.sin(turn),
                self.data["pivot_y_mm"] + self.dx * math.sin(turn) + self.dy * math.cos(turn))

    def longer(self, move):
        """How much longer the path is after a move [mm], None off the belt."""
        x, y = self.place(move)
        found = self.moving.at(x, y)
        return None if found is None else found[0] - self.start

    def move_for(self, wanted):
        """Return the smallest move that lengthens the path by so much [mm], None when none does.

        Walk outwards both ways; the first bracket is the way that a person would move it.
        """
        if wanted == 0:
            return 0.0
        step = 0.02 * (self.reach[1] - self.reach[0])
        low = 0.0
        high = 0.0
        ways = {"up": True, "down": True}
        for _ in range(100):
            if ways["up"]:
                found, ways["up"] = self._walk(high, min(high + step, self.reach[1]), wanted)
                if found is not None:
                    return found
                high += step
            if ways["down"]:
                found, ways["down"] = self._walk(low, max(low - step, self.reach[0]), wanted)
                if found is not None:
                    return found
                low -= step
        return None

    def _walk(self, a, b, wanted):
        """(the move between a and b or None, whether to go on that way)."""
        at_a = self.longer(a)
        at_b = self.longer(b)
        if at_a is None or at_b is None or a == b:
            return None, False
        if (at_a - wanted) * (at_b - wanted) <= 0:
            return roots.bracketed(lambda m: self._off(m, wanted), a, b, _ANGLE_WIDTH), True
        return None, True

    def _off(self, move, wanted):
        longer = self.longer(move)
        if longer is None:
            # Between two places that the belt reaches lies one that it does not.
            raise CoreError("move-too-far", "target_n")
        return longer - wanted

    def described(self, moves, path_mm):
        move = moves[0]
        if move is None:
            raise CoreError("move-too-far", "target_n")
        known = [m for m in moves if m is not None]
        x, y = self.place(move)
        out = {"path_mm": path_mm, "mm": None, "deg": None, "sense": None, "turns": None, "low": min(known),
               "high": max(known), "x_mm": x, "y_mm": y, "enough": None}
        if self.straight:
            out["mm"] = move
            if self.data["travel_mm"] is not None:
                out["enough"] = len(known) == len(moves)
            if self.data["mm_per_turn"] is not None:
                out["turns"] = move / self.data["mm_per_turn"]
        else:
            out["deg"] = move
            out["sense"] = "anticlockwise" if move > 0 else "clockwise"
        return out


def reach(full: dict, laid: dict) -> list:
    """Return the faults of a belt that cannot lie on its drive, whatever its tensioner does.

    Parameters:  full: a drive in its full form · laid: a sound `layout.lay_out` of it
    Returns:     list as `drive.faults`; empty when it fits or cannot be told
    Source:      geometry; 1 % for an ordinary belt on fixed centres and 0.5 to 4 % for stretch-fit:
                 ours, from memory
    """
    data = full["tensioner"]
    if full["belt"]["effective_mm"] is None or laid["belt"]["axial_n"] is None or laid["pitch_mm"] is None:
        return []
    try:
        if data["kind"] in ARM:
            arm = Arm(full, laid)
            _rest_angle(arm, laid, full["belt"]["effective_mm"], _travel(arm))
            return []
    except CoreError as error:
        if error.code == "number-missing":
            return []
        return [{"code": error.code, "weight": "stop", "pulleys": [data["pulley"]], "field": error.field,
                 "values": error.values}]
    if data["kind"] not in LENGTH:
        return []
    longer = laid["effective_mm"] / full["belt"]["effective_mm"] - 1
    low, high = _STRETCH_PART if data["kind"] == "stretch_fit" else (-_TAPE_PART, _TAPE_PART)
    if low <= longer <= high:
        return []
    code = "belt-too-long" if longer < low else "belt-too-short"
    by = _mm(abs(laid["effective_mm"] - full["belt"]["effective_mm"]))
    return [{"code": code, "weight": "stop", "pulleys": [], "field": "belt.effective_mm", "values": {"by": by}}]
