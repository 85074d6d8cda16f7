"""Marching a belt drive's torsional model through time.

Coordinates are belt displacements at the cord line [m], in belt travel, as departures from steady running.
The crankshaft is node 0 and its motion is given; nodes 1..n are inertias in the order in which the belt meets
them; span k runs from node k to node k + 1 (the last one back to the crankshaft).

    m_k dv_k/dt = T_k - T_(k-1) - (T0_k - T0_(k-1)),   T_k = max(0, T0_k + K (s + tau ds/dt))
    s = u_(k+1) - u_k  (+ r phi in the span that the arm tightens)
    J d2phi/dt2 = -G phi - r (T - T0) - c dphi/dt, and dry friction

Velocities live half a step before positions (Stoermer-Verlet), which keeps energy over long runs; friction and the
one-way clutch are taken implicitly, as impulses that can stop a motion but never reverse it.
"""

import math


def crank_place(model: dict, t: float) -> float:
    """Return the crankshaft's departure from steady running.

    sum A_i sin(i-th circular frequency t), faded in over the first `fade` seconds

    Parameters:  model: see `vibration.model` · t: time [s]
    Returns:     displacement at the cord line of its pulley [m]
    Source:      Fourier series of the firing pulses
    """
    place = 0.0
    for amplitude, omega in model["excitation"]:
        place += amplitude * math.sin(omega * t)
    if t < model["fade"]:
        part = max(0.0, t) / model["fade"]
        place *= part * part * (3 - 2 * part)
    return place


def start(model: dict) -> dict:
    """Return the state of steady running.

    Parameters:  model: see `vibration.model`
    Returns:     {"t", "u", "v": of the nodes after the crankshaft, "phi", "phi_v": of the arm, "rotor_v": speed
                 of the alternator's rotor behind a clutch, "wind": of its spring [m], "ring_u", "ring_v": of the
                 crank pulley's ring behind its spring}
    Valid:       the spring of a decoupler is wound up by the alternator's load from the start
    """
    count = len(model["mass"])
    clutch = model["clutch"]
    wind = 0.0 if clutch is None or clutch["spring"] == 0 else clutch["pull"] / clutch["spring"]
    return {"t": 0.0, "u": [0.0] * count, "v": [0.0] * count, "phi": 0.0, "phi_v": 0.0, "rotor_v": 0.0, "wind": wind,
            "ring_u": 0.0, "ring_v": 0.0}


def march(model: dict, state: dict, dt: float, steps: int, record: object) -> None:
    """Move a state forward in time.

    Parameters:  model: see `vibration.model` · state: see `start`; changed in place · dt: step [s] · steps: count
                 of steps [-] · record: function of (tensions, phi, rotor_v, wind, v) called after each step,
                 or None
    Valid:       dt below 2 over the fastest circular frequency; `vibration.step_of` stays well below
    Source:      Stoermer-Verlet: Hairer, Lubich and Wanner, Geometric Numerical Integration, ch. I (from memory);
                 impulses of friction and clutch: Moreau's time stepping (from memory)
    """
    # Locals and flat lists: this loop is what a phone spends its time on.
    mass = [dt / m for m in model["mass"]]
    steady = model["steady"]
    stiff = model["stiff"]
    lossy = model["lossy"]
    drop = [steady[k + 1] - steady[k] for k in range(len(mass))]
    count = len(mass)
    u = state["u"]
    v = state["v"]
    tensions = [0.0] * (count + 1)
    arm = model["arm"]
    at_arm = -1 if arm is None else arm["span"]
    lever = 0.0 if arm is None else arm["lever"]
    phi = state["phi"]
    phi_v = state["phi_v"]
    clutch = model["clutch"]
    at_clutch = -1 if clutch is None else clutch["node"]
    hub = model["hub"]
    ring_u = state["ring_u"]
    ring_v = state["ring_v"]
    rotor_v = state["rotor_v"]
    wind = state["wind"]
    t = state["t"]
    crank_u = crank_place(model, t - dt)
    slip = 0.0
    for _ in range(steps):
        before_u = crank_u
        crank_u = crank_place(model, t)
        # Half a step back, where the other velocities live.
        crank_v = (crank_u - before_u) / dt
        if at_clutch >= 0:
            slip = v[at_clutch] - rotor_v
        if hub is None:
            ring_u = crank_u
            ring_v = crank_v
        last_u = ring_u
        last_v = ring_v
        before = 0.0
        for k in range(count + 1):
            if k < count:
                next_u = u[k]
                next_v = v[k]
            else:
                next_u = ring_u
                next_v = ring_v
            stretch = next_u - last_u
            rate = next_v - last_v
            if k == at_arm:
                stretch += lever * phi
                rate += lever * phi_v
            tension = steady[k] + stiff[k] * stretch + lossy[k] * rate
            if tension < 0:
                tension = 0.0
            tensions[k] = tension
            if k > 0:
                last_v += mass[k - 1] * (tension - before - drop[k - 1])
                v[k - 1] = last_v
                u[k - 1] = last_u + dt * last_v
            before = tension
            last_u = next_u
            last_v = next_v
        if at_clutch >= 0:
            rotor_v, wind = _clutch(clutch, dt, v, u, rotor_v, wind, slip)
        if at_arm >= 0:
            phi_v = _arm_speed(arm, dt, phi, phi_v, tensions[at_arm] - steady[at_arm])
            phi += dt * phi_v
        if hub is not None:
            pull = tensions[0] - steady[0] - before + steady[count]
            pull += hub["spring"] * (crank_u - ring_u) + hub["damping"] * (crank_v - ring_v)
            ring_v += dt / hub["mass"] * pull
            ring_u += dt * ring_v
        t += dt
        if record is not None:
            record(tensions, phi, rotor_v, wind, v)
    state["phi"] = phi
    state["phi_v"] = phi_v
    state["rotor_v"] = rotor_v
    state["wind"] = wind
    state["ring_u"] = ring_u
    state["ring_v"] = ring_v
    state["t"] = t


def _arm_speed(arm, dt, phi, phi_v, pull):
    """The arm's new speed; dry friction can stop it but not turn it round."""
    free = phi_v + dt / arm["inertia"] * (-arm["stiffness"] * phi - arm["lever"] * pull - arm["damping"] * phi_v)
    grip = dt / arm["inertia"] * arm["friction"]
    if free > grip:
        return free - grip
    if free < -grip:
        return free + grip
    return 0.0


def _clutch(clutch, dt, v, u, rotor_v, wind, slip):
    """The rotor behind the alternator pulley: a clutch without spring, or with one.

    The node's steady pull already has the load in it, so what the clutch passes is counted from there.
    """
    node = clutch["node"]
    ring_v = v[node]
    if clutch["spring"] == 0:
        # Free of each other for a moment: the ring without the load, the rotor braked by it.
        ring_v += dt / clutch["ring"] * clutch["pull"]
        rotor_v -= dt / clutch["rotor"] * clutch["pull"]
        if ring_v > rotor_v:
            ring_v = (clutch["ring"] * ring_v + clutch["rotor"] * rotor_v) / (clutch["ring"] + clutch["rotor"])
            rotor_v = ring_v
    else:
        # Unwound, the spring lets the rotor run ahead.
        pull = max(0.0, clutch["spring"] * wind + clutch["loss"] * slip) if wind > 0 else 0.0
        ring_v += dt / clutch["ring"] * (clutch["pull"] - pull)
        rotor_v += dt / clutch["rotor"] * (pull - clutch["pull"])
        wind = max(0.0, wind + dt * (ring_v - rotor_v))
    u[node] += dt * (ring_v - v[node])
    v[node] = ring_v
    return rotor_v, wind

