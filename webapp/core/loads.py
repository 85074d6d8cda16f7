"""The drive at work: what each accessory takes, the tension of every span, who slips first, and hub loads."""

import math

from . import drive_data
from . import drive_form
from . import layout
from . import tensioner
from .errors import CoreError

# States in which belts are known to complain; loads by kind of accessory, the rest typical. Common practice,
# no source; edit freely.
POINTS = [
    {"name": "cold start in the wet, everything on, idle", "engine_rpm": 900.0, "condition": "wet",
     "loads": {"alternator": {"amperes": 110.0, "volts": 14.4}, "compressor": {"torque_nm": 25.0},
               "steering_pump": {"torque_nm": 15.0}}},
    {"name": "warm idle, everything on, worn belt", "engine_rpm": 750.0, "condition": "worn",
     "loads": {"alternator": {"amperes": 90.0, "volts": 14.0}, "compressor": {"torque_nm": 20.0},
               "steering_pump": {"torque_nm": 15.0}}},
    {"name": "on the road", "engine_rpm": 2500.0, "condition": "dry", "loads": {}},
    {"name": "full speed", "engine_rpm": 6000.0, "condition": "dry", "loads": {}},
]

# No accessory belt is strained harder at rest [N]; keeps out slips of the finger.
MOST_STATIC_N = 5000.0


def limit_ratio(friction: float, wrap_deg: float, groove_deg: float = None) -> float:
    """Return the ratio of tight to slack tension at which a belt slips.

    (T1 - m v^2) / (T2 - m v^2) = exp(mu' beta),  mu' = mu / sin(alpha / 2) in a groove

    Parameters:  friction: coefficient of friction mu, 0 to 5 [-] · wrap_deg: angle of contact beta, 0 to
                 3600 [deg] · groove_deg: included angle alpha of the groove, 10 to 180 [deg]; None when
                 friction is that of a flat face or has the wedge in it already
    Returns:     ratio, 1 or more [-]
    Raises:      CoreError "out-of-range"
    Source:      Euler-Eytelwein; the wedge: Shigley, Mechanical Engineering Design, ch. 17
    """
    for name, value, low, high in (("friction", friction, 0, 5), ("wrap_deg", wrap_deg, 0, 3600)):
        if not low <= value <= high:
            raise CoreError("out-of-range", name, {"low": str(low), "high": str(high)})
    wedge = 1.0
    if groove_deg is not None:
        if not 10 <= groove_deg <= 180:
            raise CoreError("out-of-range", "groove_deg", {"low": "10", "high": "180"})
        wedge = math.sin(math.radians(groove_deg / 2))
    # More would overflow; no belt has it.
    return math.exp(min(700.0, friction / wedge * math.radians(wrap_deg)))


def hub_load(tight_n: float, slack_n: float, wrap_deg: float) -> float:
    """Return the force of the belt on a pulley's shaft.

    F = sqrt(T1^2 + T2^2 - 2 T1 T2 cos(beta))

    Parameters:  tight_n, slack_n: span tensions, without m v^2 when running [N] · wrap_deg: angle of
                 contact beta [deg]
    Returns:     force [N]
    Source:      statics; Shigley, Mechanical Engineering Design, ch. 17
    """
    square = tight_n * tight_n + slack_n * slack_n - 2 * tight_n * slack_n * math.cos(math.radians(wrap_deg))
    return math.sqrt(max(0.0, square))


def alternator_torque(amperes: float, volts: float, efficiency: float, rpm: float) -> float:
    """Return the torque that an alternator takes.

    M = U I / (eta omega)

    Parameters:  amperes: current I, 0 to 1000 [A] · volts: voltage U, 0 to 100 [V] · efficiency: eta,
                 0.05 to 1 [-] · rpm: speed of the rotor, above 0 [1/min]
    Returns:     torque [N m]
    Raises:      CoreError "out-of-range", "not-positive"
    Source:      energy balance
    """
    for name, value, low, high in (("amperes", amperes, 0, 1000), ("volts", volts, 0, 100),
                                   ("efficiency", efficiency, 0.05, 1)):
        if not low <= value <= high:
            raise CoreError("out-of-range", name, {"low": str(low), "high": str(high)})
    if not (math.isfinite(rpm) and rpm > 0):
        raise CoreError("not-positive", "rpm")
    return amperes * volts / (efficiency * rpm * math.pi / 30)


def alternator_amperes(rated_a: float, rpm: float) -> float:
    """Return the most current that an alternator gives at a speed.

    Parameters:  rated_a: rated current [A] · rpm: speed of the rotor [1/min]
    Returns:     current [A]
    Source:      the usual shape of the curve, straight between five points, from memory
    """
    curve = drive_data.ALTERNATOR_CURVE
    if rpm <= curve[0][0]:
        return 0.0
    for i in range(1, len(curve)):
        if rpm <= curve[i][0]:
            part = (rpm - curve[i - 1][0]) / (curve[i][0] - curve[i - 1][0])
            return rated_a * (curve[i - 1][1] + part * (curve[i][1] - curve[i - 1][1]))
    return rated_a


def torque_of(kind: str, load: dict, rpm: float) -> list:
    """Return the torque that an accessory takes at a speed.

    Parameters:  kind: code of words.CHOICES["pulley_kind"] · load: {"torque_nm"}, {"power_w"} or {"amperes",
                 "volts", "efficiency"}, missing or None = not given; None = typical of its kind · rpm: its
                 own speed [1/min]
    Returns:     [value, low, high] [N m]; the range is the alternator's efficiency or what is typical
    Raises:      CoreError as `alternator_torque`; "no-load" when the load names no quantity
    Source:      named beside the tables of `drive_data.py`
    """
    if load is not None:
        return _given_torque(kind, load, rpm)
    if kind == "alternator":
        amperes = alternator_amperes(drive_data.ALTERNATOR_A, rpm)
        return _alternator_range(amperes, drive_data.ALTERNATOR_V, None, rpm)
    value, low, high, law, reference = drive_data.TORQUE[kind]
    part = (rpm / reference) ** 2 if law == "square" else 1.0
    return [value * part, low * part, high * part]


def _given_torque(kind, load, rpm):
    if load.get("torque_nm") is not None:
        return [load["torque_nm"]] * 3
    if load.get("power_w") is not None:
        if rpm <= 0:
            return [0.0, 0.0, 0.0]
        return [load["power_w"] / (rpm * math.pi / 30)] * 3
    if load.get("amperes") is not None:
        volts = drive_data.ALTERNATOR_V if load.get("volts") is None else load["volts"]
        return _alternator_range(load["amperes"], volts, load.get("efficiency"), rpm)
    raise CoreError("no-load", "load", {"pulley": kind})


def _alternator_range(amperes, volts, efficiency, rpm):
    if rpm <= 0 or amperes == 0:
        return [0.0, 0.0, 0.0]
    values = drive_data.ALTERNATOR_EFFICIENCY if efficiency is None else [efficiency] * 3
    return [alternator_torque(amperes, volts, eta, rpm) for eta in values]


def friction_of(full: dict, pulley: dict, condition: str, friction: dict = None) -> float:
    """Return the coefficient of friction between the belt and a pulley, wedge included.

    Parameters:  full: a drive in its full form · pulley: one of its pulleys · condition: "dry", "wet",
                 "worn" or "wet_worn" · friction: {"ribs", "back"} instead of the usual dry values, or None
    Returns:     mu' [-]
    Raises:      CoreError "not-a-choice" for the condition
    Source:      named beside `drive_data.FRICTION` and `drive_data.CONDITION`
    """
    if condition not in drive_data.CONDITION:
        raise CoreError("not-a-choice", "condition")
    on_ribs = pulley["face"] == "ribs" or full["belt"]["double_sided"]
    name = "ribs" if on_ribs else "back"
    if friction is not None and friction.get(name) is not None:
        return friction[name] * drive_data.CONDITION[condition]
    if on_ribs and full["belt"]["section"] is not None and not drive_data.belt_numbers(full)["ribbed"]:
        name = "v"
    return drive_data.FRICTION[name][0] * drive_data.CONDITION[condition]


def run(drive: dict, loads: dict, engine_rpm: float, condition: str = "dry", static_n: float = None,
        friction: dict = None) -> dict:
    """Return the tension of every span while the engine runs, and how near each pulley is to slipping.

    Belt pull of a pulley = torque / cord radius; going round with the belt the tension rises by it at each
    accessory and falls at the crankshaft. With a spring arm the spans beside its pulley carry T_s + m v^2;
    on fixed centres the length-weighted mean tension stays what it was at rest.

    Parameters:  drive: a drive as plain data · loads: {pulley name: load} (see `torque_of`) before the drive's own
                 loads before typical ones; None for none · engine_rpm: 1 to 12000 [1/min] · condition: see
                 `friction_of` · static_n: measured tension at rest [N], None = computed · friction: see `friction_of`
    Returns:     {"belt_m_s", "static_n", "centrifugal_n": m v^2, "arm_deg" or None, "spans": [{"from", "to",
                 "tension_n"}] in the listed order, "pulleys": [{"pulley", "rpm", "torque_nm", "torque_low_nm",
                 "torque_high_nm", "tight_n", "slack_n", "ratio", "limit", "margin": limit / ratio,
                 "reserve": pull at the limit over pull, None without pull, "slips", "hub_n", "hub_deg"}], "least": {"pulley", "margin", "reserve"}
                 of the pulley that would slip first, "crank_torque_nm", "power_w", "slack": whether a span has no
                 tension left}; ratio and margin count tensions without m v^2
    Valid:       steady running. The usual friction values are those that drives are designed by: below a
                 margin of 1 the belt has less grip there than good design asks, and may slip
    Raises:      CoreError as `tensioner.rest` or `tensioner.fitted`; "out-of-range", "number-missing",
                 "no-such-pulley", "not-a-choice", "no-load"
    Source:      Euler-Eytelwein and centrifugal tension: Shigley, Mechanical Engineering Design, ch. 17 (T
                 includes m v^2 here); serpentine drives: tension from the tensioner onwards, statics
    """
    full = drive_form.form(drive)
    if not 1 <= engine_rpm <= 12000:
        raise CoreError("out-of-range", "engine_rpm", {"low": "1", "high": "12000"})
    if static_n is not None and not 0 <= static_n <= MOST_STATIC_N:
        raise CoreError("out-of-range", "static_n", {"low": "0", "high": str(int(MOST_STATIC_N))})
    if static_n is None or full["tensioner"]["kind"] == "two_arm":
        tensioner.refuse_uncomputed(full)
    laid = layout.lay_out(full)
    tensioner.need_route(full, laid)
    if laid["belt"]["kg_per_m"] is None:
        raise CoreError("number-missing", "belt.kg_per_m")
    state = _State(full, laid, engine_rpm)
    state.take(_with_loads(full, loads))
    state.tighten(static_n)
    return state.described(condition, friction)


def _with_loads(full, loads):
    """The load of each pulley: given here, else the drive's own, else None for typical."""
    loads = loads or {}
    for name in sorted(loads):
        if drive_form.index_of(full, name) is None:
            raise CoreError("no-such-pulley", "loads", {"value": name})
    out = []
    for pulley in full["pulleys"]:
        given = loads.get(pulley["name"])
        if isinstance(given, (int, float)) and not isinstance(given, bool):
            given = {"torque_nm": float(given)}
        out.append(pulley["load"] if given is None else given)
    return out


class _State:
    """One operating point. Index i is a place in the list; span i goes from pulley i to the next in the list."""

    def __init__(self, full, laid, engine_rpm):
        self.full = full
        self.laid = laid
        self.count = len(full["pulleys"])
        self.way = layout.travel(full, laid)
        self.radii = [layout.cord_radius_mm(p, laid["belt"], full["belt"]["double_sided"]) / 1000
                      for p in full["pulleys"]]
        self.crank = [p["kind"] for p in full["pulleys"]].index("crank")
        self.speed = engine_rpm * math.pi / 30 * self.radii[self.crank]
        self.mv2 = laid["belt"]["kg_per_m"][0] * self.speed * self.speed
        self.rpm = [self.speed / r * 30 / math.pi for r in self.radii]
        self.torques = []
        self.spans = []
        self.static = 0.0
        self.arm_deg = None

    def take(self, loads):
        """Torque of each accessory, and the crankshaft's that drives them all."""
        pull = 0.0
        for i in range(self.count):
            pulley = self.full["pulleys"][i]
            self.torques.append([0.0, 0.0, 0.0] if i == self.crank
                                else torque_of(pulley["kind"], loads[i], self.rpm[i]))
            pull += self.torques[i][0] / self.radii[i]
        self.pull = pull

    def arriving(self, i):
        """The span by which the belt comes to pulley i."""
        return (i - 1) % self.count if self.way > 0 else i

    def leaving(self, i):
        """The span by which the belt leaves pulley i."""
        return i if self.way > 0 else (i - 1) % self.count

    def tighten(self, static_n):
        """Set the span tensions: their steps from pulley to pulley, then their level."""
        steps = [0.0] * self.count
        level = 0.0
        i = self.crank
        for _ in range(self.count):
            steps[self.leaving(i)] = level
            i = (i + 1) % self.count if self.way > 0 else (i - 1) % self.count
            level += self.torques[i][0] / self.radii[i]
        kind = self.full["tensioner"]["kind"]
        mean = self._mean(steps)
        if kind in tensioner.ARM:
            if self.full["tensioner"]["pulley"] is None:
                raise CoreError("number-missing", "tensioner.pulley")
            i = drive_form.index_of(self.full, self.full["tensioner"]["pulley"])
            before = steps[self.arriving(i)]
            if static_n is None:
                found = tensioner.running(self.full, self.laid, mean - before + self.mv2)
                static_n = found["tension_n"]
                self.arm_deg = found["angle_deg"]
            base = static_n + self.mv2 - before
        else:
            if static_n is None:
                static_n = tensioner.fitted(self.full)["tension_n"]
            base = static_n - mean
        self.static = static_n
        self.spans = [base + step for step in steps]

    def _mean(self, steps):
        """Length-weighted mean; the belt on a pulley counts half to the span on either side."""
        total = 0.0
        weight = 0.0
        for i in range(self.count):
            j = (i + 1) % self.count
            length = self.laid["spans"][i][0]
            length += 500 * (self.radii[i] * self.laid["wraps"][i] + self.radii[j] * self.laid["wraps"][j])
            total += steps[i] * length
            weight += length
        return total / weight

    def described(self, condition, friction):
        names = [p["name"] for p in self.full["pulleys"]]
        spans = [{"from": names[i], "to": names[(i + 1) % self.count], "tension_n": self.spans[i]}
                 for i in range(self.count)]
        pulleys = [self._pulley(i, condition, friction) for i in range(self.count)]
        least = None
        for pulley in pulleys:
            if pulley["reserve"] is not None and (least is None or pulley["reserve"] < least["reserve"]):
                least = {"pulley": pulley["pulley"], "margin": pulley["margin"], "reserve": pulley["reserve"]}
        return {"belt_m_s": self.speed, "static_n": self.static, "centrifugal_n": self.mv2, "arm_deg": self.arm_deg,
                "spans": spans, "pulleys": pulleys, "least": least,
                "crank_torque_nm": self.pull * self.radii[self.crank], "power_w": self.pull * self.speed,
                "slack": min(self.spans) - self.mv2 <= 0}

    def _pulley(self, i, condition, friction):
        pulley = self.full["pulleys"][i]
        arriving = self.spans[self.arriving(i)] - self.mv2
        leaving = self.spans[self.leaving(i)] - self.mv2
        tight = max(arriving, leaving)
        slack = min(arriving, leaving)
        wrap = math.degrees(self.laid["wraps"][i])
        limit = limit_ratio(friction_of(self.full, pulley, condition, friction), wrap)
        ratio = tight / slack if slack > 0 else None
        margin = limit / ratio if slack > 0 else 0.0
        # A pulley without load has no reserve to speak of: it cannot slip.
        reserve = max(0.0, slack) * (limit - 1) / (tight - slack) if tight > slack else None
        torque = self.torques[i] if i != self.crank else [self.pull * self.radii[i]] * 3
        return {"pulley": pulley["name"], "rpm": self.rpm[i], "torque_nm": torque[0], "torque_low_nm": min(torque),
                "torque_high_nm": max(torque), "tight_n": tight, "slack_n": slack, "ratio": ratio, "limit": limit,
                "margin": margin, "reserve": reserve, "slips": margin < 1, "hub_n": hub_load(tight, slack, wrap),
                "hub_deg": self._hub_direction(i)}

    def _hub_direction(self, i):
        """The way the belt pulls the shaft [deg]: along both spans, away from the pulley."""
        before = self.laid["spans"][i - 1]
        after = self.laid["spans"][i]
        one = self.spans[i - 1] - self.mv2
        two = self.spans[i] - self.mv2
        x = two * math.cos(after[1]) - one * math.cos(before[1])
        y = two * math.sin(after[1]) - one * math.sin(before[1])
        return math.degrees(math.atan2(y, x))


def at_point(full: dict, point: dict) -> dict:
    """Return the loads that a state of running puts on the pulleys that have none of their own.

    Parameters:  full: a drive in its full form · point: one of `POINTS`
    Returns:     {pulley's name: load}, as `run` takes them
    Source:      the states are common practice, no source
    """
    return {pulley["name"]: point["loads"][pulley["kind"]] for pulley in full["pulleys"]
            if pulley["load"] is None and pulley["kind"] in point["loads"]}


def ends(full: dict, usual: dict, engine_rpm: float, condition: str, statics: list) -> list:
    """Return a run again at both ends of what is not known: little grip with heavy loads, much grip with light ones.

    Parameters:  full: a drive in its full form · usual: of `run` · engine_rpm, condition: of that run [1/min] · statics:
                 tension at rest for the worse and the better end [N], None = computed
    Returns:     two results of `run`, the worse end first
    Raises:      CoreError as `run`
    Source:      ranges of friction in `drive_data.FRICTION`, of torque as in `torque_of`
    """
    name = "ribs" if drive_data.belt_numbers(full)["ribbed"] else "v"
    out = []
    for k, key in ((1, "torque_high_nm"), (2, "torque_low_nm")):
        torque = {one["pulley"]: {"torque_nm": one[key]} for one in usual["pulleys"]}
        grip = {"ribs": drive_data.FRICTION[name][k], "back": drive_data.FRICTION["back"][k]}
        out.append(run(full, torque, engine_rpm, condition, statics[k - 1], grip))
    return out


def first_slip(drive: dict, points: list = None, static_n: float = None) -> list:
    """Return the states of running in the order in which the belt would slip, the worst first.

    Parameters:  drive: a drive as plain data · points: list in the form of `POINTS`, None = those · static_n:
                 measured tension at rest [N], None = computed
    Returns:     [{"name", "engine_rpm", "condition", "pulley", "margin", "reserve", "slips", "slack"}]; a state in
                 which nothing takes any power is left out
    Raises:      CoreError as `run`
    Source:      the states are common practice, no source
    """
    full = drive_form.form(drive)
    out = []
    for point in POINTS if points is None else points:
        found = run(full, at_point(full, point), point["engine_rpm"], point["condition"], static_n)
        least = found["least"]
        if least is None:
            continue
        out.append({"name": point["name"], "engine_rpm": point["engine_rpm"], "condition": point["condition"],
                    "pulley": least["pulley"], "margin": least["margin"], "reserve": least["reserve"],
                    "slips": least["margin"] < 1, "slack": found["slack"]})
    return sorted(out, key=lambda one: (one["reserve"], one["name"]))
