"""How long hearing a pluck takes on a phone's interpreter: python -m tests.bench.hearing

The same takes in the shipped MicroPython under Node and in the page's own worker in Chromium. The takes are synthetic
(tests/plucks.py), 1.8 s at 8 kHz: what the listening screen hands over.
"""

import json
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from demo_db import build as demo
from tests import plucks
from tests.bench import core, tables
from tests.browser import flow
from tests.conftest import CHROMIUM, FLAGS
from webapp.core import pluck

SEEDS = range(9_500_000, 9_500_008)
SECONDS = 1.8
TIMES = 5
# Aims [s]: as it is, and with the processor so many times slower.
AIM, SLOWER, SLOW_AIM = 0.4, 4, 1.5


def arguments() -> list:
    """Return what the page hands to the sum "listen", one a take, from low to high frequency."""
    out = []
    for i, seed in enumerate(SEEDS):
        take = plucks.make_take(seed, f1=20 * 1.45 ** i, duration=SECONDS)
        out.append({"samples": list(take.samples), "rate": take.fs, "band": take.meta["prior"], "clipped": 0.0})
    return out


def row(name, times, aim):
    half = tables.middle(times)
    return [name, f"{min(times):.2f} s", f"{half:.2f} s", f"{max(times):.2f} s", f"{aim} s", "met" if half <= aim else "MISSED",
            f"{half * SLOWER:.1f} s" if aim == AIM else ""]


# One sum at a time; then how long the page's own thread was away at most, and how long a worker needs to count up.
IN_PAGE = """async ([takes, times]) => {
    const { run } = await import("/static/js/long-sum.js");
    const first = performance.now();
    await run("listen", takes[0]);
    const started = (performance.now() - first) / 1000, found = [];
    let last = performance.now(), gap = 0;
    const beat = setInterval(() => { gap = Math.max(gap, performance.now() - last); last = performance.now(); }, 5);
    for (let i = 0; i < times; i += 1) {
        for (const take of takes) {
            const start = performance.now();
            await run("listen", take);
            found.push((performance.now() - start) / 1000);
        }
    }
    clearInterval(beat);
    return { started, found, gap }; }"""
# A loop that needs the processor alone.
LOOP = """() => { const start = performance.now(); let sum = 0; for (let i = 0; i < 3e7; i += 1) sum += i % 7; return performance.now() - start; }"""


def in_chromium(takes):
    """Return [(what, milliseconds of a loop on the page, times and gap), ...]: as it is, and with the throttle on."""
    out = []
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        demo.build(Path(name) / "data")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with flow.serving(Path(name) / "data") as server:
            hand = flow.Hand(browser.new_context(**flow.PHONE), server)
            hand.sign_in("mara")
            hand.wait_ready()
            throttle = hand.context.new_cdp_session(hand.page)
            for rate in (1, SLOWER):
                throttle.send("Emulation.setCPUThrottlingRate", {"rate": rate})
                out.append((rate, hand.page.evaluate(LOOP), hand.page.evaluate(IN_PAGE, [takes, TIMES])))
        browser.close()
    return out


def main():
    takes = arguments()
    texts = [json.dumps(take) for take in takes]
    repeats = [time for take in core.on_micropython([], [["listen", text] for text in texts], TIMES) for time in take]
    rows = [row("MicroPython under Node, by the clock", [clock for clock, _processor in repeats], AIM),
            row("the same, of the processor", [processor for _clock, processor in repeats], AIM)]
    (_, loop, free), (_, slow_loop, slow) = in_chromium(takes)
    rows += [row("page's worker in Chromium, by the clock", free["found"], AIM),
             row(f"the same, throttle {SLOWER}", slow["found"], SLOW_AIM)]
    told = sum(pluck.listen(take["samples"], take["rate"], take["band"])["hz"] is not None for take in takes)
    tables.show(f"Hearing one take of {SECONDS} s, {len(takes)} takes {TIMES} times, {told} of them answered",
                ["where", "least", "median", "worst", "aim", "", f"estimate x{SLOWER}, aim {SLOW_AIM} s"], rows, [
        f"The throttle of {SLOWER} made a loop on the page {slow_loop / loop:.1f} times slower, and the sum in its worker "
        f"{tables.middle(slow['found']) / tables.middle(free['found']):.1f} times: Chromium throttles the page's thread, not its workers.",
        f"First sum with the interpreter's start: {free['started']:.2f} s; the listening screen starts it with the microphone.",
        f"The page's own thread was away for {free['gap']:.0f} ms at most while {len(free['found'])} sums ran, {slow['gap']:.0f} ms under the throttle."])


if __name__ == "__main__":
    main()
