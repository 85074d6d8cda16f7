"""What the mechanics cost: here, on the shipped MicroPython, and the same problem put to SciPy.

Budgets: one drive solved in 1 ms on CPython and 10 ms on the phone's interpreter; 2 s of engine time in 1 s there.
"""

import json
import math
import subprocess
import time

from scipy import optimize

from tests.bench import tables
from tests.core import drive_samples as samples
from tests.core import wasm
from webapp.core import drive, drive_data, drive_form, layout, loads, tensioner, vibration

TIMES = 30
ENGINE = {"rpm": 750, "cylinders": 4, "irregularity": 0.05}
PRELUDE = '''
import json
import time


def run(text):
    module, function, arguments, times = json.loads(text)
    call = getattr(__import__("core." + module, None, None, ["x"]), function)
    call(*arguments)
    start = time.ticks_us()
    for _ in range(times):
        call(*arguments)
    return json.dumps(time.ticks_diff(time.ticks_us(), start) / times / 1e6)
'''


def ring_drive(count):
    """A drive of so many pulleys on a circle, every third one a roller that presses from outside."""
    pulleys = []
    for k in range(count):
        turn = 2 * math.pi * k / count
        back = k % 3 == 2 and count > 3
        # A roller stands 45 mm outside the line between its neighbours' centres: it pushes the belt in.
        far = 40.0 * count * (math.cos(2 * math.pi / count) if back else 1.0) + (45.0 if back else 0.0)
        pulleys.append({"name": f"p{k}", "kind": "crank" if k == 0 else "idler" if back else "fan", "face": "back" if back else "ribs",
                        "x_mm": far * math.cos(turn), "y_mm": far * math.sin(turn), "diameter_mm": 60})
    return {"belt": {"section": "PK", "ribs": 6}, "pulleys": pulleys, "tensioner": {"kind": "fixed"}}


def timed(call, times=TIMES):
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        answer = call()
        spent.append(time.perf_counter() - start)
    return tables.middle(spent), answer


def on_micropython(asked):
    node = str(wasm.NODE if wasm.NODE.exists() else wasm.NODE.with_suffix(".exe"))
    given = {"static": str(wasm.ROOT / "static"), "bundle": wasm.BUNDLE_TEXT, "prelude": PRELUDE, "cases": asked}
    runner = wasm.ROOT / "tests" / "core" / "wasm_runner.mjs"
    done = subprocess.run([node, str(runner)], input=json.dumps(given), capture_output=True, text=True, check=True)
    return [answer["value"] for answer in json.loads(done.stdout)["cases"]]


class ByScipy:
    """The arm's rest as one system for scipy.optimize.root: a direction and a shift for every span, and the angle."""

    def __init__(self, data):
        self.full = drive_form.form(data)
        self.laid = layout.lay_out(self.full)
        self.belt = drive_data.belt_numbers(self.full)
        self.arm = self.full["tensioner"]
        self.i = drive_form.index_of(self.full, self.arm["pulley"])
        x, y, _ = self.laid["circles"][self.i]
        self.radius = math.hypot(x - self.arm["pivot_x_mm"], y - self.arm["pivot_y_mm"])
        self.first = math.atan2(y - self.arm["pivot_y_mm"], x - self.arm["pivot_x_mm"])
        self.way = 1.0 if tensioner.rest(data)["tightens"] == "anticlockwise" else -1.0

    def circles(self, angle):
        out = list(self.laid["circles"])
        out[self.i] = (self.arm["pivot_x_mm"] + self.radius * math.cos(angle), self.arm["pivot_y_mm"] + self.radius * math.sin(angle),
                       out[self.i][2])
        return out

    def misfit(self, unknown):
        count = len(self.laid["circles"])
        circles = self.circles(unknown[-1])
        out = []
        length = 0.0
        for k in range(count):
            psi, shift = unknown[2 * k], unknown[2 * k + 1]
            (x1, y1, r1), (x2, y2, r2) = circles[k], circles[(k + 1) % count]
            out += [x1 * math.sin(psi) - y1 * math.cos(psi) + r1 - shift, x2 * math.sin(psi) - y2 * math.cos(psi) + r2 - shift]
            before = unknown[2 * k - 2] if k else unknown[2 * count - 2]
            length += (x2 - x1) * math.cos(psi) + (y2 - y1) * math.sin(psi)
            turn = (psi - before) if r1 > 0 else (before - psi)
            length += abs(r1) * (turn % (2 * math.pi))
        psi_in, psi_out = unknown[2 * self.i - 2], unknown[2 * self.i]
        dx, dy = -self.radius * math.sin(unknown[-1]), self.radius * math.cos(unknown[-1])
        lever = self.way * ((math.cos(psi_in) - math.cos(psi_out)) * dx + (math.sin(psi_in) - math.sin(psi_out)) * dy) / 1000
        back = self.way * (self.arm["at_deg"] - math.degrees(unknown[-1]))
        tension = (self.arm["torque_nm"] + self.arm["rate_nm_per_deg"] * back) / lever
        b = 2 * math.pi * self.belt["differential_mm"]
        cord = (self.full["belt"]["effective_mm"] + b) * (1 + (tension - self.belt["measuring_n"]) / self.belt["axial_n"][0])
        out.append(length + b - cord)
        return out

    def solve(self):
        start = []
        for span, circle in zip(self.laid["spans"], self.laid["circles"]):
            start += [span[1], circle[0] * math.sin(span[1]) - circle[1] * math.cos(span[1]) + circle[2]]
        found = optimize.root(self.misfit, start + [self.first + 0.05], tol=1e-12)
        if not found.success:
            raise RuntimeError(found.message)
        return math.degrees(found.x[-1])


def main():
    automatic = samples.load("automatic")
    asked = [("drive of six pulleys solved, faults and all", "drive", "solve", [automatic], 30),
             ("where the arm rests", "tensioner", "rest", [automatic], 30),
             ("how far to turn an eccentric", "tensioner", "turn_for", [samples.load("eccentric"), 400, 250], 30),
             ("tensions and slip at one speed", "loads", "run", [automatic, {}, 1500], 30),
             ("where it slips first, four states", "loads", "first_slip", [automatic], 10),
             ("which span to measure", "vibration", "best_span", [automatic], 30),
             ("2 s of engine time, solid pulley", "vibration", "respond", [automatic, ENGINE, "solid", "damper"], 3),
             ("2 s of engine time, one-way clutch", "vibration", "respond", [automatic, ENGINE, "one_way", "damper"], 3),
             ("2 s of engine time, both decoupled", "vibration", "respond", [automatic, ENGINE, "decoupler", "decoupler"], 3)]
    modules = {"drive": drive, "tensioner": tensioner, "loads": loads, "vibration": vibration}
    there = on_micropython([[module, function, values, times] for _title, module, function, values, times in asked])
    rows = []
    for (title, module, function, values, times), slow in zip(asked, there):
        fast, _ = timed(lambda: getattr(modules[module], function)(*values), times)
        rows.append([title, f"{slow * 1000:.2f} ms", f"{fast * 1000:.2f} ms", f"{slow / fast:.1f}"])
    tables.show("The mechanics", ["call", "MicroPython", "CPython", "ratio"], rows, [__doc__.splitlines()[-1]])

    by_scipy = ByScipy(automatic)
    whole, found = timed(lambda: tensioner.rest(automatic))
    arm = tensioner.Arm(by_scipy.full, by_scipy.laid)
    travel = {"full": found["full_deg"], "free": found["free_deg"]}
    own, _ = timed(lambda: tensioner._rest_angle(arm, by_scipy.laid, automatic["belt"]["effective_mm"], travel))
    other, angle = timed(by_scipy.solve)
    if abs(found["angle_deg"] - angle) > 1e-6:
        raise RuntimeError("the two answers differ")
    tables.show("The arm's rest, the same problem twice", ["by", "time", "ratio"],
                [["this core, the equilibrium alone", f"{own * 1000:.3f} ms", "1.0"],
                 ["scipy.optimize.root, the equilibrium alone", f"{other * 1000:.3f} ms", f"{other / own:.1f}"],
                 ["this core, form, route, travel, marks and faults too", f"{whole * 1000:.3f} ms", f"{whole / own:.1f}"]],
                [f"Both stand the arm at {angle:.6f} degrees. SciPy starts from the laid-out route, 3 degrees off."])

    counts = [2, 3, 5, 8, 12, 16, 20]
    there = on_micropython([["drive", "solve", [ring_drive(count)], 5] for count in counts])
    rows = []
    for count, slow in zip(counts, there):
        data = ring_drive(count)
        fast, solved = timed(lambda: drive.solve(data))
        if solved["effective_mm"] is None:
            raise RuntimeError("the route does not close")
        rows.append([count, f"{slow * 1000:.2f} ms", f"{fast * 1000:.3f} ms", f"{fast / count * 1e6:.0f} us"])
    tables.show("One drive solved, by its number of pulleys", ["pulleys", "MicroPython", "CPython", "CPython per pulley"], rows)


if __name__ == "__main__":
    main()
