"""Vibration: what the engine excites, when a span rings, how the drive answers, and which span to measure."""

import math

from . import drive_data
from . import drive_form
from . import layout
from . import loads as at_work
from . import roots
from . import span
from . import stepper
from . import tensioner
from .errors import CoreError

# Pulleys whose inertia is left out: a roller's own resonance lies above 400 Hz, far from any firing.
_LIGHT = ("idler", "tensioner")
# The step is this share of the fastest motion's radian; leapfrog is stable to 2 and here off by (x^2)/24.
_STEP = 0.4
_LONGEST_STEP = 5.0e-4
_POINTS = 400
# In so many parts a long march is told, while it settles and again while it is recorded.
_PARTS = 5


def _check(value, low, high, field):
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
        raise CoreError("out-of-range", field, {"low": str(low), "high": str(high)})


def firing_order(cylinders: int) -> float:
    """Return how many times per crankshaft turn a four-stroke engine with even firing fires.

    Parameters:  cylinders: 1 to 16 [-]
    Returns:     order of the crankshaft's speed [-]
    Raises:      CoreError "out-of-range"
    Source:      each cylinder fires once in two turns
    """
    _check(cylinders, 1, 16, "cylinders")
    return cylinders / 2


def firing_hz(engine_rpm: float, cylinders: int) -> float:
    """Return the firing frequency of a four-stroke engine with even firing: f = n cyl / 120.

    Parameters:  engine_rpm: crankshaft speed n, 0 to 12000 [1/min] · cylinders: 1 to 16 [-]
    Returns:     frequency [Hz]
    Raises:      CoreError "out-of-range"
    Source:      each cylinder fires once in two turns; handbooks
    """
    _check(engine_rpm, 0, 12000, "engine_rpm")
    return engine_rpm * firing_order(cylinders) / 60


def rpm_of_firing(hz: float, cylinders: int) -> float:
    """Return the engine speed that fires with a frequency: n = 120 f / cyl.

    Parameters:  hz: frequency f, 0 to 5000 [Hz] · cylinders: 1 to 16 [-]
    Returns:     crankshaft speed [1/min]
    Raises:      CoreError "out-of-range"
    Source:      as `firing_hz`
    """
    _check(hz, 0, 5000, "hz")
    return 60 * hz / firing_order(cylinders)


def order_strengths(firings_deg: list) -> list:
    """Return how strongly each half order is excited by the times at which the cylinders fire.

    c_k = |sum over cylinders of exp(i k theta)| / cylinders for k = 0.5, 1, 1.5 ...

    Parameters:  firings_deg: crank angles of the firings within two turns, 0 to 720 [deg], 1 to 16 of them
    Returns:     [[order, strength 0 to 1], ...] up to order 8
    Raises:      CoreError "out-of-range"
    Source:      Fourier series of equal pulses; even firing leaves multiples of cylinders / 2
    """
    _check(len(firings_deg), 1, 16, "firings_deg")
    out = []
    for half in range(1, 17):
        cosine = 0.0
        sine = 0.0
        for angle in firings_deg:
            _check(angle, 0, 720, "firings_deg")
            cosine += math.cos(math.radians(half * angle / 2))
            sine += math.sin(math.radians(half * angle / 2))
        out.append([half / 2, math.sqrt(cosine * cosine + sine * sine) / len(firings_deg)])
    return out


def swing_angle(irregularity: float, order: float) -> float:
    """Return the crankshaft's angle amplitude of one order.

    theta = (irregularity / 2) / order, with irregularity = (omega_max - omega_min) / omega_mean

    Parameters:  irregularity: 0 to 0.5 [-] · order: above 0 [-]
    Returns:     amplitude [rad]
    Raises:      CoreError "out-of-range"
    Source:      integral of a sine
    """
    _check(irregularity, 0, 0.5, "irregularity")
    _check(order, 0.01, 50, "order")
    return irregularity / 2 / order


def usual_irregularity(engine_rpm: float) -> float:
    """Return a warm petrol engine's usual irregularity: 3.5 % at 750 per minute, falling with the square.

    Parameters:  engine_rpm: crankshaft speed [1/min]
    Returns:     irregularity, at most 0.1 [-]
    Source:      2 to 5 % at idle for four cylinders, from memory with low confidence; diesels reach 5 to 12 %
    """
    return min(0.1, 0.035 * (750.0 / engine_rpm) ** 2)


def moving_span_hz(tension_n: float, length_m: float, kg_per_m: float, belt_m_s: float) -> float:
    """Return the first frequency of a span while the belt runs.

    f = (c^2 - v^2) / (2 L c),  c = sqrt(T / m)

    Parameters:  tension_n: span tension T, centrifugal part included [N] · length_m: L [m] · kg_per_m: m [kg/m]
                 · belt_m_s: speed v [m/s]
    Returns:     frequency [Hz]; 0 from the critical speed v = c on
    Raises:      CoreError "not-positive"
    Source:      Archibald and Emslie, J. Appl. Mech. 25 (1958) 347 (formula from memory)
    """
    for value, name in ((tension_n, "tension_n"), (length_m, "length_m"), (kg_per_m, "kg_per_m")):
        if not (math.isfinite(value) and value > 0):
            raise CoreError("not-positive", name)
    square = tension_n / kg_per_m
    return max(0.0, (square - belt_m_s * belt_m_s) / (2 * length_m * math.sqrt(square)))


def runout_speed(hz: float, diameter_mm: float) -> float:
    """Return the belt speed at which a pulley that runs out of true shakes a span at its frequency: v = pi d f.

    Parameters:  hz: frequency of the span f [Hz] · diameter_mm: pitch diameter d [mm]
    Returns:     belt speed [m/s]
    Source:      once per turn of the pulley
    """
    return math.pi * diameter_mm / 1000 * hz


def _static(full):
    """Strand tension at rest with its band [value, low, high], computed from the drive."""
    if full["tensioner"]["kind"] in tensioner.ARM:
        found = tensioner.rest(full)
    else:
        found = tensioner.fitted(full)
    return [found["tension_n"], found["low_n"], found["high_n"]]


def resonances(drive: dict, cylinders: int, static_n: float = None) -> list:
    """Return the engine speeds at which each span rings.

    Direct: firing frequency = f of the span. Parametric: firing frequency = 2 f, when the tension itself swings;
    its band is f +- T1 / (4 T0) wide for a swing of amplitude T1. A spring arm lets the tension grow by m v^2.

    Parameters:  drive: a drive as plain data · cylinders: 1 to 16 [-] · static_n: tension at rest [N], None =
                 computed
    Returns:     [{"from", "to", "hz": stopped, "direct_rpm", "parametric_rpm"}] in the listed order; a speed
                 beyond 12000 is None
    Valid:       plain string, unloaded; loads raise the tight spans
    Raises:      CoreError as `tensioner.rest` or `tensioner.fitted`, "out-of-range", "number-missing"
    Source:      moving string (see `moving_span_hz`); Mathieu's equation, principal region
    """
    full = drive_form.form(drive)
    order = firing_order(cylinders)
    out = []
    for ring in _rings(full, static_n):
        out.append({"from": ring["from"], "to": ring["to"], "hz": ring["at"](0.0),
                    "direct_rpm": _meets(ring["at"], order / 60), "parametric_rpm": _meets(ring["at"], order / 120)})
    return out


def span_curves(drive: dict, speeds: list, static_n: float = None) -> list:
    """Return the first frequency of each span over the engine's speed.

    Parameters:  drive: a drive as plain data · speeds: of the crankshaft, each 0 to 12000 [1/min] · static_n: tension at
                 rest [N], None = computed
    Returns:     [{"from", "to", "hz": [at each speed]}] in the listed order [Hz]
    Valid:       as `resonances`
    Raises:      CoreError as `resonances`
    Source:      see `moving_span_hz`
    """
    for rpm in speeds:
        _check(rpm, 0, 12000, "speeds")
    return [{"from": ring["from"], "to": ring["to"], "hz": [ring["at"](rpm) for rpm in speeds]}
            for ring in _rings(drive_form.form(drive), static_n)]


def _rings(full, static_n):
    """[{"from", "to", "at": its frequency [Hz] as a function of the engine's speed}] of every span."""
    laid = layout.lay_out(full)
    tensioner.need_route(full, laid)
    kg_per_m = _mass(laid)
    rest_n = _static(full)[0] if static_n is None else static_n
    per_rpm = _crank_radius(full, laid) * math.pi / 30
    grows = full["tensioner"]["kind"] in tensioner.ARM

    def ring(length):
        def at(rpm):
            speed = per_rpm * rpm
            tension = rest_n + (kg_per_m * speed * speed if grows else 0.0)
            return moving_span_hz(tension, length, kg_per_m, speed)
        return at

    count = len(laid["spans"])
    return [{"from": full["pulleys"][i]["name"], "to": full["pulleys"][(i + 1) % count]["name"],
             "at": ring(laid["spans"][i][0] / 1000)} for i in range(count)]


def _meets(ring, per_rpm):
    """The speed at which a line through zero meets the falling frequency of the span."""
    if per_rpm * 12000 < ring(12000.0):
        return None
    return roots.bracketed(lambda rpm: per_rpm * rpm - ring(rpm), 0.0, 12000.0, 1e-9)


def _mass(laid):
    if laid["belt"]["kg_per_m"] is None:
        raise CoreError("number-missing", "belt.kg_per_m")
    return laid["belt"]["kg_per_m"][0]


def _crank_radius(full, laid):
    for pulley in full["pulleys"]:
        if pulley["kind"] == "crank":
            return layout.cord_radius_mm(pulley, laid["belt"], full["belt"]["double_sided"]) / 1000


# What makes a span good to measure: long enough that its ends matter little, short enough to ring clearly.
_BEST_MM = 350.0
_PRESS = 64.0


def best_span(drive: dict, low_n: float = None, high_n: float = None) -> list:
    """Return the spans in the order in which they are worth measuring, with the reading to expect.

    A longer span is better up to 350 mm or so: the stiff ends raise a reading by about 2 sqrt(EI / T) / L. Beside
    a spring arm a span is worse, since the arm gives way as it rings.

    Parameters:  drive: a drive as plain data, tensioner as drawn · low_n, high_n: wanted strand tension [N]; None
                 = what the drive itself gives
    Returns:     [{"from", "to", "length_mm", "low_n", "high_n", "hz", "hz_low", "hz_high": expected
                 reading of a pluck, over the wanted tension, the belt's mass, and ends between pinned and
                 clamped, "press_mm": L / 64, "press_low_n", "press_high_n": force that presses its middle that
                 far, "beside_arm", "short"}], best first
    Valid:       engine stopped, tension alike in all spans
    Raises:      CoreError as `tensioner.rest` or `tensioner.fitted`; "number-missing", "not-positive"
    Source:      `span.frequency_from_tension`; F = 4 T d / L with the exact angle; the order: ours
    """
    full = drive_form.form(drive)
    laid = layout.lay_out(full)
    tensioner.need_route(full, laid)
    mass = laid["belt"]["kg_per_m"]
    if mass is None:
        raise CoreError("number-missing", "belt.kg_per_m")
    if low_n is None or high_n is None:
        _, low_n, high_n = _static(full)
    if not (math.isfinite(low_n) and math.isfinite(high_n) and 0 < low_n <= high_n):
        raise CoreError("not-positive", "low_n")
    arm = full["tensioner"]["pulley"] if full["tensioner"]["kind"] in tensioner.ARM else None
    out = []
    count = len(laid["spans"])
    for i in range(count):
        names = (full["pulleys"][i]["name"], full["pulleys"][(i + 1) % count]["name"])
        out.append(_reading(names, laid["spans"][i][0], laid["belt"], low_n, high_n, arm in names))
    return sorted(out, key=lambda one: (-_worth(one), one["from"]))


def _worth(one):
    length = one["length_mm"]
    worth = min(length, _BEST_MM) - 0.3 * max(0.0, length - _BEST_MM)
    if one["beside_arm"]:
        worth *= 0.5
    return worth


def _reading(names, length_mm, belt, low_n, high_n, beside_arm):
    length = length_mm / 1000
    mass, light, heavy = belt["kg_per_m"]
    supple, stiff = belt["bending_nm2"] or (0.0, 0.0)
    slope = math.sqrt(1 + 4 / _PRESS / _PRESS)
    press = [4 * tension / _PRESS / slope for tension in (low_n, high_n)]
    if belt["axial_n"] is not None:
        # Pressing stretches this span alone at worst: the belt does not creep over stiff accessories.
        press[1] += 4 / _PRESS / slope * belt["axial_n"][2] * (slope - 1)
    middle = (low_n + high_n) / 2
    return {"from": names[0], "to": names[1], "length_mm": length_mm, "low_n": low_n, "high_n": high_n,
            "hz": span.frequency_from_tension(middle, length, mass, (supple + stiff) / 2, "pinned"),
            "hz_low": span.frequency_from_tension(low_n, length, heavy, supple, "pinned"),
            "hz_high": span.frequency_from_tension(high_n, length, light, stiff, "clamped"),
            "press_mm": length_mm / _PRESS, "press_low_n": press[0], "press_high_n": press[1],
            "beside_arm": beside_arm, "short": length_mm < drive_data.SHORTEST_SPAN_MM}


def model(drive: dict, engine: dict, alternator: str = None, crank: str = None, loads: dict = None,
          static_n: float = None) -> dict:
    """Return the torsional model of a drive at one engine speed.

    Rollers without load are massless: the spans on both sides of them act as one spring in series. A
    span's spring is EA / length. A rubber or viscous damper follows the crankshaft at firing frequency.

    Parameters:  drive: a drive as plain data · engine: {"rpm", "cylinders", "irregularity" (None =
                 `usual_irregularity`), "orders": [[order, share], ...] (None = firing order alone)} ·
                 alternator, crank: codes of words.CHOICES["alternator_pulley"], ["crank_pulley"] instead of the drive's own · loads: as
                 `loads.run` · static_n: as `loads.run` [N]
    Returns:     {"names" of the nodes, crankshaft first, "mass": of nodes after it [kg], "steady": span tensions [N],
                 "stiff" [N/m], "lossy" [N s/m], "spans": for each span of the drive, its place here, "offset": its
                 tension less that one's [N], "arm": {"span", "lever" [m], "inertia", "stiffness" [N m/rad],
                 "damping", "friction" [N m]} or None, "clutch": {"node", "ring", "rotor" [kg], "spring" [N/m], 0 for
                 none, "loss" [N s/m], "pull" [N]} or None, "hub": {"mass", "spring", "damping"} or None, "excitation":
                 [[amplitude [m], omega [1/s]], ...], "fade" [s], "speed": of the belt [m/s], "crank_deg": swing
                 amplitude}
    Raises:      CoreError as `loads.run`; "out-of-range"
    Source:      Beikmann, Perkins and Ulsoy, J. Vib. Acoust. 118 (1996) (page not seen); Hwang, Perkins, Ulsoy and
                 Meckstroth, J. Vib. Acoust. 116 (1994), rotational response (page not seen)
    """
    full = drive_form.form(drive)
    rpm = engine.get("rpm")
    _check(rpm, 100, 12000, "rpm")
    order = firing_order(engine.get("cylinders"))
    work = at_work.run(full, loads, rpm, "dry", static_n)
    laid = layout.lay_out(full)
    pieces = _pieces(full, laid, work)
    found = _chain(pieces)
    found["speed"] = work["belt_m_s"]
    found["arm"] = _arm(full, laid, work, pieces)
    found["clutch"] = _coupling(full, laid, found, alternator or full["alternator_pulley"])
    radius = _crank_radius(full, laid)
    found["hub"] = _hub(full, radius, crank or full["crank_pulley"])
    irregularity = engine.get("irregularity")
    irregularity = usual_irregularity(rpm) if irregularity is None else irregularity
    found["excitation"] = []
    found["crank_deg"] = 0.0
    for each, share in engine.get("orders") or [[order, 1.0]]:
        swing = swing_angle(irregularity * share, each)
        found["crank_deg"] += math.degrees(swing)
        found["excitation"].append([radius * swing, 2 * math.pi * each * rpm / 60])
    found["fade"] = 0.25
    return found


def _pieces(full, laid, work):
    """The drive in belt travel from the crankshaft on: [{"i", "span", "length", "tension", "mass", "node"}, ...].

    Piece k is a pulley with the span by which the belt leaves it.
    """
    count = len(full["pulleys"])
    way = 1 if layout.travel(full, laid) > 0 else -1
    i = [p["kind"] for p in full["pulleys"]].index("crank")
    out = []
    for _ in range(count):
        pulley = full["pulleys"][i]
        leaving = i if way > 0 else (i - 1) % count
        radius = layout.cord_radius_mm(pulley, laid["belt"], full["belt"]["double_sided"]) / 1000
        inertia = pulley["inertia_kgm2"]
        inertia = drive_data.INERTIA[pulley["kind"]] if inertia is None else inertia
        out.append({"i": i, "name": pulley["name"], "kind": pulley["kind"], "span": leaving, "radius": radius,
                    "length": laid["spans"][leaving][0] / 1000, "arc": radius * laid["wraps"][i],
                    "tension": work["spans"][leaving]["tension_n"], "mass": inertia / radius / radius,
                    "node": pulley["kind"] not in _LIGHT and inertia > 0,
                    "axial": laid["belt"]["axial_n"][0],
                    "spring": pulley["decoupler_nm_per_deg"]})
        i = (i + way) % count
    return out


def _chain(pieces):
    """Nodes and the springs between them; a massless roller only lengthens a spring."""
    names = []
    masses = []
    kinds = []
    lengths = []
    tensions = []
    place = [0] * len(pieces)
    offset = [0.0] * len(pieces)
    for piece in pieces:
        if piece["node"] or piece["kind"] == "crank":
            names.append(piece["name"])
            kinds.append(piece)
            if piece["kind"] != "crank":
                masses.append(piece["mass"])
            lengths.append(piece["length"])
            tensions.append(piece["tension"])
        else:
            lengths[-1] += piece["length"] + piece["arc"]
        place[piece["span"]] = len(lengths) - 1
        offset[piece["span"]] = piece["tension"] - tensions[-1]
    stiff = [pieces[0]["axial"] / length for length in lengths]
    # Loss of the cord: this share of critical damping at a usual belt resonance of 30 Hz.
    lossy = [k * 2 * drive_data.CORD_DAMPING / (2 * math.pi * 30.0) for k in stiff]
    return {"names": names, "nodes": kinds, "mass": masses, "steady": tensions, "stiff": stiff, "lossy": lossy,
            "spans": place, "offset": offset, "hub": None, "clutch": None, "arm": None}


def _arm(full, laid, work, pieces):
    """The spring arm about its running position, or None."""
    data = full["tensioner"]
    if data["kind"] not in tensioner.ARM:
        return None
    held = tensioner.Arm(full, laid)
    angle = work["arm_deg"]
    if angle is None:
        angle = held.drawn
    lever = held.at(angle)[1] / 1000
    # How the lever itself changes with the angle, towards tight [m/rad].
    bend = (held.at(angle + held.way * 0.05)[1] - held.at(angle - held.way * 0.05)[1]) / 1000 / math.radians(0.1)
    nodes = -1
    at = 0
    for piece in pieces:
        if piece["node"] or piece["kind"] == "crank":
            nodes += 1
        if piece["i"] == drive_form.index_of(full, data["pulley"]):
            at = nodes
    friction = 0.0 if data["friction"] is None else data["friction"]
    return {"span": at, "lever": lever,
            # An arm without inertia cannot be marched: zero counts as not known.
            "inertia": data["inertia_kgm2"] or drive_data.ARM_INERTIA,
            "stiffness": math.degrees(data["rate_nm_per_deg"]) + work["static_n"] * bend,
            "damping": 0.0 if data["damping_nms"] is None else data["damping_nms"],
            "friction": friction * held.torque(angle)}


def _coupling(full, laid, found, code):
    """The alternator behind a clutch; solid, starter-generator and unknown turn as one piece."""
    if code not in ("one_way", "decoupler"):
        return None
    for k in range(1, len(found["nodes"])):
        piece = found["nodes"][k]
        if piece["kind"] == "alternator":
            square = piece["radius"] * piece["radius"]
            rate = drive_data.DECOUPLER["alternator"] if piece["spring"] is None else piece["spring"]
            ring = drive_data.RING_INERTIA["alternator"] / square
            rotor = found["mass"][k - 1]
            found["mass"][k - 1] = ring
            spring = math.degrees(rate) / square if code == "decoupler" else 0.0
            return {"node": k - 1, "ring": ring, "rotor": rotor, "spring": spring,
                    "loss": 2 * drive_data.DECOUPLER_DAMPING * math.sqrt(spring * rotor),
                    "pull": found["steady"][k] - found["steady"][k - 1]}
    return None


def _hub(full, radius, code):
    """The crank pulley's ring behind a spring, for a decoupler alone."""
    if code != "decoupler":
        return None
    rate = drive_data.DECOUPLER["crank"]
    for pulley in full["pulleys"]:
        if pulley["kind"] == "crank" and pulley["decoupler_nm_per_deg"] is not None:
            rate = pulley["decoupler_nm_per_deg"]
    spring = math.degrees(rate) / radius / radius
    mass = drive_data.RING_INERTIA["crank"] / radius / radius
    return {"mass": mass, "spring": spring, "damping": 2 * drive_data.DECOUPLER_DAMPING * math.sqrt(spring * mass)}


def step_of(built: dict) -> float:
    """Return a time step that follows the fastest motion of a model.

    omega^2 <= max over nodes of sum |K_ij| / sqrt(m_i m_j) (Gershgorin on the scaled stiffness)

    Parameters:  built: see `model`
    Returns:     step [s], at most 0.5 ms
    Source:      Gershgorin's theorem; stability of the leapfrog rule: omega dt < 2
    """
    masses = list(built["mass"])
    springs = built["stiff"]
    count = len(masses)
    most = 0.0
    for k in range(count):
        row = (springs[k] + springs[k + 1]) / masses[k]
        if k > 0:
            row += springs[k] / math.sqrt(masses[k] * masses[k - 1])
        if k + 1 < count:
            row += springs[k + 1] / math.sqrt(masses[k] * masses[k + 1])
        if built["arm"] is not None and built["arm"]["span"] in (k, k + 1):
            spring = springs[built["arm"]["span"]]
            row += spring * built["arm"]["lever"] / math.sqrt(masses[k] * built["arm"]["inertia"])
        most = max(most, row)
    arm = built["arm"]
    if arm is not None:
        row = (arm["stiffness"] + springs[arm["span"]] * arm["lever"] ** 2) / arm["inertia"]
        for k in (arm["span"] - 1, arm["span"]):
            if 0 <= k < count:
                row += springs[arm["span"]] * arm["lever"] / math.sqrt(masses[k] * arm["inertia"])
        most = max(most, row)
    if built["hub"] is not None:
        most = max(most, (built["hub"]["spring"] + 2 * (springs[0] + springs[-1])) / built["hub"]["mass"])
    return min(_LONGEST_STEP, _STEP / math.sqrt(most)) if most > 0 else _LONGEST_STEP


class _Recorder:
    """Keeps lows, highs and sums of every step, and every so many steps a point for the plot."""

    def __init__(self, built, every):
        count = len(built["stiff"])
        self.node = -1
        for k in range(1, len(built["nodes"])):
            if built["nodes"][k]["kind"] == "alternator":
                self.node = k - 1
        self.behind = built["clutch"] is not None
        self.sprung = self.behind and built["clutch"]["spring"] > 0
        self.every = every
        self.steps = 0
        self.low = [1e300] * count
        self.high = [-1e300] * count
        self.sum = [0.0] * count
        self.series = [[] for _ in range(count)]
        self.phi = [1e300, -1e300]
        self.phi_series = []
        self.rotor = [1e300, -1e300]
        self.free = 0

    def note(self, tensions, phi, rotor_v, wind, speeds):
        for k in range(len(tensions)):
            tension = tensions[k]
            self.sum[k] += tension
            if tension < self.low[k]:
                self.low[k] = tension
            if tension > self.high[k]:
                self.high[k] = tension
        _widen(self.phi, phi)
        if self.node >= 0:
            speed = rotor_v if self.behind else speeds[self.node]
            _widen(self.rotor, speed)
            if self.behind and (wind == 0 if self.sprung else rotor_v > speeds[self.node]):
                self.free += 1
        if self.steps % self.every == 0:
            for k in range(len(tensions)):
                self.series[k].append(tensions[k])
            self.phi_series.append(math.degrees(phi))
        self.steps += 1


def _widen(pair, value):
    if value < pair[0]:
        pair[0] = value
    if value > pair[1]:
        pair[1] = value


def respond(drive: dict, engine: dict, alternator: str = None, crank: str = None, loads: dict = None,
            static_n: float = None, seconds: float = 2.0, told: object = None) -> dict:
    """Return how the drive answers the crankshaft's irregular turning.

    Parameters:  drive, engine, alternator, crank, loads: see `model` · static_n: see `model` [N] · seconds: engine
                 time, 0.5 to 10 [s] · told: function that is called with the share done, 0 to 1, now and then; or None
    Returns:     {"spans": [{"from", "to", "mean_n", "low_n", "high_n", "swing_n": high - low, "slack", "series_n"}]
                 in the listed order, "arm": {"swing_deg", "series_deg"} or None, "alternator": {"swing_percent":
                 of its rotor's speed, "free_share": of the time that the clutch runs free, None without a
                 clutch} or None, "crank_deg": the crankshaft's swing to either side, "firing_hz", "t_s":
                 times of the series, "dt_s", "steps"}; lows and highs over the last part of the run
    Valid:       small swings about steady running; no slip; spans straight. A span that goes slack is told,
                 its transverse slap is not computed
    Raises:      CoreError as `model`; "out-of-range"
    Source:      see `model` and `stepper.march`
    """
    _check(seconds, 0.5, 10, "seconds")
    built = model(drive, engine, alternator, crank, loads, static_n)
    hz = firing_hz(engine["rpm"], engine["cylinders"])
    # Aim for whole steps in a firing, so that each is sampled alike.
    dt = 1 / hz / (int(1 / hz / step_of(built)) + 1)
    window = min(seconds / 2, max(0.3, 6 / hz))
    kept = int(window / dt + 0.5)
    settling = int(seconds / dt + 0.5) - kept
    recorder = _Recorder(built, 1 + kept // _POINTS)
    state = stepper.start(built)
    _march(built, state, dt, settling, None, told, [0.0, 1 - kept / (settling + kept)])
    _march(built, state, dt, kept, recorder.note, told, [1 - kept / (settling + kept), 1.0])
    return _answer(drive_form.form(drive), built, recorder, hz, dt, settling)


def _march(built, state, dt, steps, record, told, shares):
    """March in a few parts, so that whoever waits can be told how far it is."""
    parts = 1 if told is None else _PARTS
    for k in range(parts):
        stepper.march(built, state, dt, steps * (k + 1) // parts - steps * k // parts, record)
        if told is not None:
            told(shares[0] + (shares[1] - shares[0]) * (k + 1) / parts)


def _answer(full, built, recorder, hz, dt, settling):
    count = len(full["pulleys"])
    spans = []
    for i in range(count):
        k = built["spans"][i]
        offset = built["offset"][i]
        spans.append({"from": full["pulleys"][i]["name"], "to": full["pulleys"][(i + 1) % count]["name"],
                      "mean_n": recorder.sum[k] / recorder.steps + offset, "low_n": recorder.low[k] + offset,
                      "high_n": recorder.high[k] + offset, "swing_n": recorder.high[k] - recorder.low[k],
                      "slack": recorder.low[k] <= 0, "series_n": [t + offset for t in recorder.series[k]]})
    arm = None
    if built["arm"] is not None:
        arm = {"swing_deg": math.degrees(recorder.phi[1] - recorder.phi[0]), "series_deg": recorder.phi_series}
    alternator = None
    if recorder.node >= 0:
        swing = 100 * (recorder.rotor[1] - recorder.rotor[0]) / built["speed"]
        alternator = {"swing_percent": swing,
                      "free_share": recorder.free / recorder.steps if recorder.behind else None}
    points = len(recorder.series[0])
    return {"spans": spans, "arm": arm, "alternator": alternator, "crank_deg": built["crank_deg"], "firing_hz": hz,
            "t_s": [dt * (settling + k * recorder.every) for k in range(points)], "dt_s": dt,
            "steps": settling + recorder.steps}
