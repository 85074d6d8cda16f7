"""How long the core takes on both interpreters: CPython here, and the shipped MicroPython under Node.

The same calls go through the core's door on both sides, JSON text in and out, as each host does it.
"""

import json
import subprocess
import tempfile
import time
from pathlib import Path

from demo_db import build as demo
from tests.bench import tables
from tests.browser import screens
from tests.core import contexts, wasm
from webapp.core import door

TIMES = 30
EVENTS = 100


def calls(folder: Path) -> list:
    """Return [(name, function of the door, arguments), ...]."""
    asked = {(request["path"], request["method"], dict(request["query"]).get("method", "")): (request, given)
             for request, given in contexts.requests(folder)}
    job = f"/jobs/{screens.job_id('squeal')}"
    events = asked[job, "GET", ""][1]["events"]
    long = events + [dict(events[-1], id=f"00000000-0000-4000-8000-{n:012d}", kind="note_added", seq=events[-1]["seq"] + n,
                          data={"text": "Belt is dry", "handover": False}) for n in range(1, EVENTS - len(events) + 1)]
    return [(f"fold and summary of {EVENTS} events", "summary", [long]),
            (f"card of {len(events)} events", "handle", asked[job, "GET", ""]),
            ("tension screen", "handle", asked[job + "/1/tension", "GET", ""]),
            ("result of a pluck, four readings", "handle", asked["/sums/span", "GET", "pluck"]),
            ("belts screen", "handle", asked[job + "/1/belts", "GET", ""])]


def on_cpython(name, values):
    text = json.dumps(list(values))
    times = []
    for _ in range(TIMES):
        start = time.perf_counter()
        answer = door.call(name, text)
        times.append(time.perf_counter() - start)
    if not json.loads(answer)["ok"]:
        raise RuntimeError(answer)
    return tables.middle(times)


def on_micropython(asked: list, sums: list = (), times: int = TIMES) -> list:
    """Return for each call, then for each long sum [name, argument], [(seconds by the clock, of the processor), ...]."""
    node = str(wasm.NODE if wasm.NODE.exists() else wasm.NODE.with_suffix(".exe"))
    given = {"static": str(wasm.ROOT / "static"), "bundle": wasm.BUNDLE_TEXT, "times": times,
             "calls": [[name, *values] for _title, name, values in asked], "sums": list(sums)}
    done = subprocess.run([node, str(Path(__file__).with_name("core_runner.mjs"))], input=json.dumps(given),
                          capture_output=True, text=True, check=True)
    return [[(clock / 1000, processor / 1000) for clock, processor in repeats] for repeats in json.loads(done.stdout)]


def main():
    with tempfile.TemporaryDirectory() as name:
        demo.build(Path(name) / "data")
        asked = calls(Path(name) / "data")
    here = [on_cpython(name, values) for _title, name, values in asked]
    there = [tables.middle([clock for clock, _processor in repeats]) for repeats in on_micropython(asked)]
    rows = [[title, tables.ms(slow), tables.ms(fast), f"{slow / fast:.1f}"]
            for (title, _name, _values), slow, fast in zip(asked, there, here)]
    tables.show(f"The core's door, median of {TIMES}", ["call", "MicroPython", "CPython", "ratio"], rows,
                ["No budget of its own: the worker's answers hold these times."])


if __name__ == "__main__":
    main()
