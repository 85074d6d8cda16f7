"""Vibration: against SciPy's integrators and eigenvalues, textbook oscillators, and by the balance of energy."""

import copy
import math

import drive_samples as samples
import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, linalg, optimize, signal

from webapp.core import drive, span, stepper, tensioner, vibration, words
from webapp.core.errors import CoreError

outside = pytest.mark.outside
IDLE = {"rpm": 750, "cylinders": 4, "irregularity": 0.05}
LOADS = {"alternator": {"amperes": 60, "volts": 14}, "compressor": {"torque_nm": 8}}


def built(name="automatic", engine=IDLE, alternator="solid", crank="damper", **keys):
    return vibration.model(samples.load(name), engine, alternator, crank, LOADS if name in ("automatic", "hydraulic") else None, **keys)


def crank_speed(model, t):
    return (stepper.crank_place(model, t + 1e-6) - stepper.crank_place(model, t - 1e-6)) / 2e-6


def matrices(model):
    """Mass, damping and stiffness of the linear model: nodes, then the arm; and the crankshaft's columns."""
    count = len(model["mass"])
    size = count + (1 if model["arm"] else 0)
    mass, damp, stiff = numpy.zeros((size, size)), numpy.zeros((size, size)), numpy.zeros((size, size))
    column, loss = numpy.zeros(size), numpy.zeros(size)
    for k in range(count + 1):
        row = numpy.zeros(size)
        crank = 0.0
        if k > 0:
            row[k - 1] -= 1
        else:
            crank -= 1
        if k < count:
            row[k] += 1
        else:
            crank += 1
        if model["arm"] and model["arm"]["span"] == k:
            row[count] += model["arm"]["lever"]
        stiff += model["stiff"][k] * numpy.outer(row, row)
        damp += model["lossy"][k] * numpy.outer(row, row)
        column += model["stiff"][k] * row * crank
        loss += model["lossy"][k] * row * crank
    for k in range(count):
        mass[k, k] = model["mass"][k]
    if model["arm"]:
        mass[count, count] = model["arm"]["inertia"]
        stiff[count, count] += model["arm"]["stiffness"]
        damp[count, count] += model["arm"]["damping"]
    return mass, damp, stiff, column, loss


def steady_swing(model):
    """Peak-to-peak tension of each span in the linear steady state, by complex amplitudes."""
    mass, damp, stiff, column, loss = matrices(model)
    (amplitude, omega), = model["excitation"]
    answer = numpy.linalg.solve(stiff - omega**2 * mass + 1j * omega * damp, -(column + 1j * omega * loss) * amplitude)
    count = len(model["mass"])
    out = []
    for k in range(count + 1):
        last = amplitude if k == 0 else answer[k - 1]
        following = answer[k] if k < count else amplitude
        stretch = following - last
        if model["arm"] and model["arm"]["span"] == k:
            stretch += model["arm"]["lever"] * answer[count]
        out.append(2 * abs((model["stiff"][k] + 1j * omega * model["lossy"][k]) * stretch))
    return out, answer


def integrated(model, seconds, kept):
    """Lows and highs of tensions and arm over the last part, by SciPy with friction and clutch smoothed."""
    count = len(model["mass"])
    clutch, arm, hub = model["clutch"], model["arm"], model["hub"]
    steady = model["steady"]

    def tensions(t, y):
        u, v = y[:count], y[count:2 * count]
        phi, phi_v, ring_u, ring_v = y[2 * count:2 * count + 4]
        crank_u, crank_v = (ring_u, ring_v) if hub else (stepper.crank_place(model, t), crank_speed(model, t))
        place = [crank_u, *u, crank_u]
        speed = [crank_v, *v, crank_v]
        out = []
        for k in range(count + 1):
            stretch, rate = place[k + 1] - place[k], speed[k + 1] - speed[k]
            if arm and arm["span"] == k:
                stretch += arm["lever"] * phi
                rate += arm["lever"] * phi_v
            out.append(max(0.0, steady[k] + model["stiff"][k] * stretch + model["lossy"][k] * rate))
        return out

    def motion(t, y):
        v = y[count:2 * count]
        phi, phi_v, ring_u, ring_v, rotor_v, wind = y[2 * count:]
        pull = tensions(t, y)
        force = [pull[k + 1] - pull[k] - steady[k + 1] + steady[k] for k in range(count)]
        rotor_a = wind_v = 0.0
        if clutch:
            slip = v[clutch["node"]] - rotor_v
            if clutch["spring"] == 0:
                # A very stiff one-way viscous coupling.
                passed = max(0.0, 1e5 * slip)
            else:
                # Unwound, it is drawn back to zero within half a millisecond.
                engaged = min(1.0, max(0.0, wind / 1e-5))
                passed = max(0.0, clutch["spring"] * max(0.0, wind) + engaged * clutch["loss"] * slip)
                wind_v = slip + 2000.0 * max(0.0, -wind)
            force[clutch["node"]] += clutch["pull"] - passed
            rotor_a = (passed - clutch["pull"]) / clutch["rotor"]
        phi_a = 0.0
        if arm:
            moment = -arm["stiffness"] * phi - arm["lever"] * (pull[arm["span"]] - steady[arm["span"]]) - arm["damping"] * phi_v
            phi_a = (moment - arm["friction"] * math.tanh(phi_v / 2e-3)) / arm["inertia"]
        ring_a = 0.0
        if hub:
            crank_u, crank_v = stepper.crank_place(model, t), crank_speed(model, t)
            ring_a = (hub["spring"] * (crank_u - ring_u) + hub["damping"] * (crank_v - ring_v)
                      + pull[0] - steady[0] - pull[count] + steady[count]) / hub["mass"]
        return [*v, *[f / m for f, m in zip(force, model["mass"])], phi_v, phi_a, ring_v if hub else 0.0, ring_a, rotor_a, wind_v]

    begin = stepper.start(model)
    y = [0.0] * (2 * count) + [0.0, 0.0, 0.0, 0.0, 0.0, begin["wind"]]
    times = numpy.linspace(seconds - kept, seconds, 1500)
    solved = integrate.solve_ivp(motion, (0, seconds), y, method="LSODA", t_eval=times, rtol=1e-7, atol=1e-10, max_step=2e-3)
    pulls = numpy.array([tensions(t, solved.y[:, i]) for i, t in enumerate(times)])
    return pulls.min(axis=0), pulls.max(axis=0), numpy.ptp(solved.y[2 * count]), numpy.ptp(solved.y[2 * count + 4])


def frictionless(data):
    out = copy.deepcopy(data)
    out["tensioner"]["friction"] = 0.0
    return out


def marched(model, seconds=2.0, kept=0.4):
    recorder = vibration._Recorder(model, 1)
    dt = vibration.step_of(model)
    state = stepper.start(model)
    stepper.march(model, state, dt, int((seconds - kept) / dt), None)
    stepper.march(model, state, dt, int(kept / dt), recorder.note)
    return recorder


# Outside: time integration and eigenvalues by SciPy.


@outside("SciPy/NumPy: complex amplitudes of the linear model")
@pytest.mark.parametrize("rpm", [700, 900, 1300, 2000])
def test_the_steady_swing_of_a_solid_pulley(rpm):
    data = frictionless(samples.load("automatic"))
    data["tensioner"]["damping_nms"] = 0.4
    engine = {"rpm": rpm, "cylinders": 4, "irregularity": 0.01}
    model = vibration.model(data, engine, "solid", "damper", LOADS)
    wanted, answer = steady_swing(model)
    found = vibration.respond(data, engine, "solid", "damper", LOADS, seconds=6.0)
    for i, one in enumerate(found["spans"]):
        assert one["swing_n"] == pytest.approx(wanted[model["spans"][i]], rel=0.02)
    assert math.radians(found["arm"]["swing_deg"]) == pytest.approx(2 * abs(answer[-1]), rel=0.02)


@outside("SciPy: solve_ivp (LSODA) with friction and clutch smoothed")
@pytest.mark.parametrize("alternator,crank,amperes", [
    ("solid", "damper", 60), ("one_way", "damper", 10), ("one_way", "damper", 60), ("decoupler", "damper", 60),
    ("solid", "decoupler", 60), ("decoupler", "decoupler", 60)])
def test_the_march_agrees_with_an_adaptive_integrator(alternator, crank, amperes):
    load = {"alternator": {"amperes": amperes, "volts": 14}, "compressor": {"torque_nm": 8}}
    data = samples.load("automatic")
    if alternator == "decoupler":
        # So calm an arm sticks: smoothed friction would let it creep, and creeping is what stiff solvers are slow at.
        data = frictionless(data)
    model = vibration.model(data, dict(IDLE, irregularity=0.08), alternator, crank, load)
    low, high, phi, rotor = integrated(model, 2.0, 0.4)
    found = marched(model)
    scale = max(high - low)
    for k in range(len(low)):
        assert found.low[k] == pytest.approx(low[k], abs=0.015 * scale)
        assert found.high[k] == pytest.approx(high[k], abs=0.015 * scale)
    assert found.phi[1] - found.phi[0] == pytest.approx(phi, abs=2e-4 + 0.015 * phi)
    if model["clutch"]:
        assert found.rotor[1] - found.rotor[0] == pytest.approx(rotor, rel=0.015)


@outside("SciPy: eigh; free vibration of the marched model rings at its lowest frequency")
def test_the_model_rings_at_its_eigenfrequency():
    model = vibration.model(frictionless(samples.load("automatic")), IDLE, "solid", "damper", LOADS)
    model["excitation"] = []
    model["lossy"] = [0.0] * len(model["lossy"])
    mass, _, stiff, _, _ = matrices(model)
    values, vectors = linalg.eigh(stiff, mass)
    state = stepper.start(model)
    count = len(model["mass"])
    shape = vectors[:, 0] / abs(vectors[:, 0]).max() * 1e-4
    state["u"][:] = shape[:count]
    state["phi"] = shape[count]
    seen = []
    dt = 1e-4
    stepper.march(model, state, dt, 20000, lambda tensions, *_: seen.append(tensions[0] - model["steady"][0]))
    crossings = [i + seen[i] / (seen[i] - seen[i + 1]) for i in range(len(seen) - 1) if seen[i] <= 0 < seen[i + 1]]
    hz = (len(crossings) - 1) / (crossings[-1] - crossings[0]) / dt
    assert hz == pytest.approx(math.sqrt(values[0]) / 2 / math.pi, rel=1e-3)


@outside("textbook oscillator: one inertia between two spans, f = sqrt((k1 + k2) / m) / 2 pi")
def test_one_accessory_is_a_textbook_oscillator():
    data = samples.two(150, 120, 350, 1140, axial_n=120000.0)
    data["pulleys"][1]["inertia_kgm2"] = 0.004
    model = vibration.model(data, IDLE, loads={"other": 2.0}, static_n=400)
    radius = 0.062
    length = drive.solve(data)["spans"][0]["length_mm"] / 1000
    assert model["mass"] == [pytest.approx(0.004 / radius**2)]
    assert model["stiff"] == [pytest.approx(120000 / length)] * 2
    mass, _, stiff, _, _ = matrices(model)
    hz = math.sqrt(stiff[0, 0] / mass[0, 0]) / 2 / math.pi
    assert hz == pytest.approx(math.sqrt(2 * 120000 / length / (0.004 / radius**2)) / 2 / math.pi, rel=1e-12)
    # Base excitation far below it: the accessory follows the crankshaft (transmissibility 1 / (1 - r^2)).
    found = vibration.respond(data, {"rpm": 900, "cylinders": 4, "irregularity": 0.01}, loads={"other": 2.0}, static_n=400, seconds=4.0)
    r = 30 / hz
    amplitude = 0.077 * math.radians(found["crank_deg"])
    wanted = 2 * 120000 / length * amplitude * r * r / (1 - r * r)
    assert found["spans"][0]["swing_n"] == pytest.approx(wanted, rel=0.02)


@outside("springs in series: rollers between two accessories only lengthen the spring")
def test_rollers_join_their_spans():
    model = built()
    solved = drive.solve(samples.load("automatic"))
    lengths = [s["length_mm"] for s in solved["spans"]]
    arc = math.radians(solved["wraps"][2]["deg"]) * 36.0
    assert model["names"] == ["crank", "coolant pump", "alternator", "compressor"]
    assert model["stiff"][2] == pytest.approx(model["stiff"][3] * lengths[0] / (lengths[1] + lengths[2] + arc), rel=1e-6)


@outside("SciPy: periodogram of the tension; the drive answers at firing frequency")
def test_the_answer_has_the_firing_frequency():
    found = vibration.respond(samples.load("automatic"), IDLE, "solid", "damper", LOADS)
    series = numpy.array(found["spans"][0]["series_n"])
    rate = 1 / (found["t_s"][1] - found["t_s"][0])
    hz, power = signal.periodogram(series - series.mean(), rate, nfft=8192)
    assert hz[power.argmax()] == pytest.approx(25.0, abs=1.0)


@outside("Mathieu's equation by solve_ivp: a span swings up at twice its frequency, and not off it")
def test_the_parametric_speed_is_where_mathieu_s_equation_grows():
    one = vibration.resonances(samples.load("fixed"), 4, 400)[0]
    omega = 2 * math.pi * one["hz"]

    def growth(ratio):
        drive_omega = 2 * omega * ratio
        solved = integrate.solve_ivp(lambda t, y: [y[1], -omega**2 * (1 + 0.1 * math.cos(drive_omega * t)) * y[0]],
                                     (0, 120 * math.pi / omega), [1.0, 0.0], rtol=1e-9, atol=1e-12)
        return abs(solved.y[0]).max()

    assert growth(1.0) > 50
    # The unstable band is T1 / (4 T0) = 2.5 % to either side.
    assert growth(1.02) > 5 and growth(1.05) < 5 and growth(0.95) < 5
    # Speed lowers the frequency of a moving span: the speed is where the two meet.
    rpm = one["parametric_rpm"]
    v = drive.speeds(samples.load("fixed"), rpm)["belt_m_s"]
    mass = 0.072
    assert vibration.firing_hz(rpm, 4) == pytest.approx(
        2 * vibration.moving_span_hz(400, drive.solve(samples.load("fixed"))["spans"][0]["length_mm"] / 1000, mass, v), rel=1e-9)


@outside("SciPy: brentq where firing frequency meets the moving span's")
@pytest.mark.parametrize("name", ["automatic", "fixed", "slotted"])
def test_resonance_speeds_are_roots(name):
    data = samples.load(name)
    solved = drive.solve(data)
    static = 350.0
    grows = name == "automatic"
    mass = {"automatic": 0.108, "fixed": 0.072, "slotted": 0.082}[name]
    for i, one in enumerate(vibration.resonances(data, 6, static)):
        length = solved["spans"][i]["length_mm"] / 1000

        def gap(rpm):
            v = drive.speeds(data, rpm)["belt_m_s"]
            return vibration.firing_hz(rpm, 6) - vibration.moving_span_hz(static + (mass * v * v if grows else 0), length, mass, v)

        if one["direct_rpm"] is not None:
            assert one["direct_rpm"] == pytest.approx(optimize.brentq(gap, 1, 12000, xtol=1e-9), rel=1e-9)
        assert one["hz"] == pytest.approx(math.sqrt(static / mass) / 2 / length, rel=1e-9)


@outside("SciPy: critical speed and frequency of a moving string by the quadratic eigenvalue problem of Galerkin's method")
@pytest.mark.parametrize("v", [0.0, 15.0, 40.0])
def test_a_moving_span_by_galerkin(v):
    tension, length, mass = 450.0, 0.3, 0.108
    count = 40
    n = numpy.arange(1, count + 1)
    stiff = numpy.diag((tension - mass * v * v) * (n * math.pi / length) ** 2 * length / 2)
    gyro = numpy.zeros((count, count))
    for i in n:
        for j in n:
            if (i + j) % 2:
                gyro[i - 1, j - 1] = 2 * mass * v * 2 * i * j / (i * i - j * j)
    inertia = numpy.eye(count) * mass * length / 2
    top = numpy.hstack([numpy.zeros((count, count)), numpy.eye(count)])
    bottom = numpy.hstack([-numpy.linalg.solve(inertia, stiff), -numpy.linalg.solve(inertia, gyro)])
    values = numpy.linalg.eigvals(numpy.vstack([top, bottom]))
    hz = min(abs(x.imag) for x in values if abs(x.imag) > 1) / 2 / math.pi
    assert vibration.moving_span_hz(tension, length, mass, v) == pytest.approx(hz, rel=2e-3)


@outside("handbooks: even firing leaves orders cylinders / 2 and its multiples")
@pytest.mark.parametrize("cylinders", [2, 3, 4, 5, 6, 8, 10, 12])
def test_even_firing_excites_its_own_orders_only(cylinders):
    firings = [720 * k / cylinders for k in range(cylinders)]
    for order, strength in vibration.order_strengths(firings):
        multiple = order / vibration.firing_order(cylinders)
        assert strength == pytest.approx(1.0 if multiple == int(multiple) else 0.0, abs=1e-9)


@outside("handbooks: a 90-degree V6 on common crank pins (150 and 90 degrees) adds order 1.5")
def test_uneven_firing_adds_half_orders():
    strengths = dict(map(tuple, vibration.order_strengths([0, 150, 240, 390, 480, 630])))
    assert strengths[1.5] > 0.2 and strengths[3.0] > 0.6 and strengths[1.0] == pytest.approx(0, abs=1e-9)


@outside("NumPy: FFT of a pulse train")
def test_order_strengths_are_a_fourier_series():
    firings = [0, 90, 270, 360, 450, 540, 630, 200]
    pulses = numpy.zeros(720)
    for angle in firings:
        pulses[angle] += 1
    spectrum = abs(numpy.fft.rfft(pulses)) / len(firings)
    for order, strength in vibration.order_strengths(firings):
        assert strength == pytest.approx(spectrum[int(2 * order)], abs=1e-9)


@outside("Gershgorin and the leapfrog limit: the step stays below the fastest eigenfrequency's 2 / omega")
@pytest.mark.parametrize("name", ["automatic", "hydraulic", "double_sided", "fixed", "slotted"])
def test_the_step_is_stable(name):
    model = built(name, static_n=300.0)
    mass, _, stiff, _, _ = matrices(model)
    fastest = math.sqrt(linalg.eigh(stiff, mass, eigvals_only=True)[-1])
    assert vibration.step_of(model) * fastest <= 0.5


# The balance of energy.


def energies(model, state):
    crank_u = stepper.crank_place(model, state["t"])
    place = [crank_u, *state["u"], crank_u]
    total = 0.0
    for k, stiff in enumerate(model["stiff"]):
        stretch = place[k + 1] - place[k]
        if model["arm"] and model["arm"]["span"] == k:
            stretch += model["arm"]["lever"] * state["phi"]
        total += stiff * stretch**2 / 2
    if model["arm"]:
        total += model["arm"]["stiffness"] * state["phi"] ** 2 / 2
    return total


@settings(max_examples=20)
@given(st.lists(st.floats(-1e-4, 1e-4), min_size=4, max_size=4))
def test_energy_is_kept_without_losses(start):
    model = vibration.model(frictionless(samples.load("automatic")), IDLE, "solid", "damper", LOADS, static_n=2000.0)
    model["excitation"] = []
    model["lossy"] = [0.0] * len(model["lossy"])
    state = stepper.start(model)
    state["u"][:] = start[:3]
    state["phi"] = start[3]
    dt = 2e-5
    before = energies(model, state)
    levels = []
    for _ in range(60):
        stepper.march(model, state, dt, 100, None)
        # Velocities live half a step back; with so small a step that is within the tolerance.
        kinetic = sum(m * v * v for m, v in zip(model["mass"], state["v"])) / 2
        kinetic += model["arm"]["inertia"] * state["phi_v"] ** 2 / 2
        levels.append(energies(model, state) + kinetic)
    if before > 1e-6:
        assert max(abs(level / before - 1) for level in levels) < 0.05
        assert sum(levels[-20:]) / sum(levels[:20]) == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize("rpm", [700, 1000, 1800])
def test_the_crankshaft_s_work_is_what_the_losses_take(rpm):
    model = vibration.model(frictionless(samples.load("hydraulic")), {"rpm": rpm, "cylinders": 4, "irregularity": 0.02},
                            "solid", "damper", LOADS)
    period = 2 * math.pi / model["excitation"][0][1]
    steps = int(period / 2e-5)
    dt = period / steps
    state = stepper.start(model)
    stepper.march(model, state, dt, int(3.0 / dt) // steps * steps, None)
    work = [0.0, 0.0]
    last = {"phi": state["phi"], "t": state["t"]}
    count = len(model["mass"])

    def note(tensions, phi, rotor_v, wind, speeds):
        crank_v = crank_speed(model, last["t"])
        # Span 0 leaves the crankshaft, the last one arrives there.
        work[0] += dt * crank_v * (tensions[count] - model["steady"][count] - tensions[0] + model["steady"][0])
        speed = [crank_v, *speeds, crank_v]
        phi_v = (phi - last["phi"]) / dt
        for k in range(count + 1):
            rate = speed[k + 1] - speed[k] + (model["arm"]["lever"] * phi_v if model["arm"]["span"] == k else 0)
            work[1] += dt * model["lossy"][k] * rate**2
        work[1] += dt * model["arm"]["damping"] * phi_v**2
        last["phi"] = phi
        last["t"] += dt

    stepper.march(model, state, dt, 20 * steps, note)
    assert work[0] == pytest.approx(work[1], rel=0.02) and work[1] > 0


def test_friction_and_clutch_never_add_energy():
    for alternator in ("solid", "one_way", "decoupler"):
        model = built(alternator=alternator)
        model["excitation"] = []
        state = stepper.start(model)
        state["phi"] = 0.02
        swings = []
        for _ in range(6):
            recorder = vibration._Recorder(model, 10)
            stepper.march(model, state, 1e-4, 2000, recorder.note)
            swings.append(max(h - low for h, low in zip(recorder.high, recorder.low)))
        assert swings[-1] < swings[0]
        assert all(b <= a * 1.05 for a, b in zip(swings, swings[1:]))


# What must hold.


def swing(alternator, crank="damper", **keys):
    found = vibration.respond(samples.load("automatic"), dict(IDLE, irregularity=0.08), alternator, crank,
                              {"alternator": {"amperes": 15, "volts": 14}, "compressor": {"torque_nm": 8}}, **keys)
    return found


def test_a_healthy_pulley_calms_the_belt_and_the_arm():
    solid, clutch, spring = swing("solid"), swing("one_way"), swing("decoupler")
    most = [max(s["swing_n"] for s in one["spans"]) for one in (solid, clutch, spring)]
    assert most[2] < most[0]
    assert spring["alternator"]["swing_percent"] < solid["alternator"]["swing_percent"]
    assert clutch["alternator"]["swing_percent"] < solid["alternator"]["swing_percent"]
    assert 0.1 < clutch["alternator"]["free_share"] < 0.9
    assert solid["alternator"]["free_share"] is None
    assert spring["arm"]["swing_deg"] <= solid["arm"]["swing_deg"]


def test_a_decoupled_crank_pulley_calms_everything():
    solid, calm = swing("solid"), swing("solid", "decoupler")
    assert max(s["swing_n"] for s in calm["spans"]) < 0.5 * max(s["swing_n"] for s in solid["spans"])


def test_locked_is_solid_and_unknown_too():
    solid = swing("solid")
    assert swing("unknown")["spans"] == solid["spans"] == swing("starter_generator")["spans"]


def test_no_irregularity_no_swing():
    found = vibration.respond(samples.load("automatic"), dict(IDLE, irregularity=0.0), "solid", "damper", LOADS)
    for one in found["spans"]:
        assert one["swing_n"] == pytest.approx(0, abs=1e-9)
        assert one["mean_n"] == pytest.approx(one["low_n"], rel=1e-9)


@given(st.floats(0.001, 0.01), st.floats(1.5, 3))
@settings(max_examples=10)
def test_small_swings_are_in_proportion(irregularity, factor):
    data = frictionless(samples.load("automatic"))
    one = vibration.respond(data, dict(IDLE, irregularity=irregularity), "solid", "damper", LOADS)
    two = vibration.respond(data, dict(IDLE, irregularity=irregularity * factor), "solid", "damper", LOADS)
    for a, b in zip(one["spans"], two["spans"]):
        assert b["swing_n"] == pytest.approx(factor * a["swing_n"], rel=1e-6)


def test_a_belt_that_goes_slack_is_told():
    found = vibration.respond(samples.load("automatic"), dict(IDLE, irregularity=0.3), "solid", "damper", LOADS)
    assert any(one["slack"] for one in found["spans"])
    assert all(one["low_n"] >= -5 for one in found["spans"])


def test_the_series_fit_the_numbers():
    found = swing("one_way")
    for one in found["spans"]:
        assert len(one["series_n"]) == len(found["t_s"]) <= 802
        assert one["low_n"] <= min(one["series_n"]) and max(one["series_n"]) <= one["high_n"]
        assert max(one["series_n"]) - min(one["series_n"]) > 0.9 * one["swing_n"]
    assert len(found["arm"]["series_deg"]) == len(found["t_s"])


@pytest.mark.parametrize("engine,field", [
    ({"rpm": 0, "cylinders": 4}, "rpm"), ({"rpm": None, "cylinders": 4}, "rpm"), ({"rpm": 750, "cylinders": None}, "cylinders"),
    ({"rpm": 750, "cylinders": 4, "irregularity": 3}, "irregularity"), ({"rpm": 750, "cylinders": 4, "orders": [[0, 1]]}, "order")])
def test_a_bad_engine_is_refused(engine, field):
    with pytest.raises(CoreError) as error:
        vibration.respond(samples.load("automatic"), engine)
    assert error.value.field == field and words.sentence(error.value)


# Which span to measure.


@pytest.mark.parametrize("name", ["automatic", "fixed", "slotted", "eccentric", "stretch_fit", "lead_screw"])
def test_the_best_span_is_long_and_away_from_the_arm(name):
    found = vibration.best_span(samples.load(name))
    assert not found[0]["beside_arm"] and not found[0]["short"]
    assert found[0]["length_mm"] == max(one["length_mm"] for one in found if not one["beside_arm"])
    for one in found:
        assert one["hz_low"] <= one["hz"] <= one["hz_high"] and one["press_low_n"] <= one["press_high_n"]


@outside("span.frequency_from_tension, checked against SciPy elsewhere; statics of a pressed span: P = T / 16 at L / 64")
def test_the_expected_reading_of_the_best_span():
    one = vibration.best_span(samples.load("automatic"), 400.0, 400.0)[0]
    assert one["press_low_n"] == pytest.approx(24.988, abs=1e-3)
    assert one["hz"] == pytest.approx(math.sqrt(400 / 0.108) / 2 / (one["length_mm"] / 1000), rel=0.01)
    assert one["hz_low"] == pytest.approx(math.sqrt(400 / 0.126) / 2 / (one["length_mm"] / 1000), rel=0.01)
    back = span.tension_from_frequency(one["hz_high"], one["length_mm"] / 1000, 0.084, 6 * 0.0025, "clamped")
    assert back == pytest.approx(400, rel=1e-9)


def test_a_wanted_tension_replaces_the_drive_s_own():
    one = vibration.best_span(samples.load("fixed"), 300.0, 360.0)[0]
    own = vibration.best_span(samples.load("fixed"))[0]
    assert (one["low_n"], one["high_n"]) == (300.0, 360.0)
    assert own["low_n"] == tensioner.fitted(samples.load("fixed"))["low_n"]


def test_no_target_no_reading():
    with pytest.raises(CoreError):
        vibration.best_span(samples.load("fixed"), -5.0, 300.0)
