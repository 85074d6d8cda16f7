"""How well the pluck is heard, beside general pitch finders on the same takes: python -m tests.bench.pluck [--limit N] [--set heldout|fresh].

Every take is synthetic (tests/plucks.py). The network was fitted to other seeds (tools/train_hearing.py), the limits were set on the set
"tune"; `heldout` is another set of the same generator, `fresh` seeds beside all of them. The finders get the best of what they can use: the loudest half second, and the band.
--limit takes about so many plucks, evenly over levels and frequencies, and other sounds in proportion.
"""

import argparse
import math
import statistics
import time

import numpy

from tests import plucks
from tests.bench import tables
from webapp.core import pluck

try:
    import librosa
except ImportError:
    librosa = None

LEVELS = plucks.SNRS
BANDS = ((18, 30), (30, 50), (50, 90), (90, 160), (160, 351))
LOW, HIGH = 15.0, 400.0
FRESH = 9_000_000
HARD_TAKES = 200


def chosen(name, limit):
    """Return the arguments of the takes of a set, thinned to the limit."""
    specs = plucks.specs("heldout")
    if name == "fresh":
        specs = [dict(spec, seed=spec["seed"] + FRESH) for spec in specs]
    if not limit or limit >= 750:
        return specs
    step = max(1, round(750 / limit))
    # Five levels lie side by side, and ten other sounds: whole groups are kept.
    return [spec for i, spec in enumerate(specs)
            if ((i // 5) if i < 750 else (i - 750) // 5 if i < 900 else (i - 900) // 10) % step == 0]


def loudest(x, rate):
    """Return half a second from the loudest tenth of a second on."""
    size = rate // 10
    energy = [float(numpy.sum(x[i:i + size] ** 2)) for i in range(0, len(x) - size, size // 4)]
    start = int(numpy.argmax(energy)) * (size // 4)
    return x[start:start + rate // 2]


def by_peak(x, rate, band):
    part = loudest(x, rate)
    power = abs(numpy.fft.rfft(part * numpy.hanning(len(part)), 8 * rate))
    hz = numpy.arange(len(power)) / 8
    inside = (hz >= band[0]) & (hz <= band[1])
    return float(hz[inside][numpy.argmax(power[inside])])


def by_autocorrelation(x, rate, band):
    part = loudest(x, rate)
    part = part - part.mean()
    power = abs(numpy.fft.rfft(part, 2 * len(part))) ** 2
    likeness = numpy.fft.irfft(power)[:len(part)]
    likeness = likeness / numpy.arange(len(part), 0, -1)
    first, last = max(2, int(rate / band[1])), min(len(part) - 2, int(rate / band[0]) + 1)
    lag = first + int(numpy.argmax(likeness[first:last + 1]))
    left, middle, right = likeness[lag - 1:lag + 2]
    bend = left - 2 * middle + right
    return rate / (lag + (0.5 * (left - right) / bend if bend < 0 else 0.0))


def by_yin(x, rate, band):
    found = librosa.yin(loudest(x, rate), fmin=max(LOW, band[0]), fmax=min(HIGH, band[1]), sr=rate, frame_length=2048, hop_length=256)
    return float(numpy.median(found))


def by_pyin(x, rate, band):
    found, _, _ = librosa.pyin(loudest(x, rate), fmin=max(LOW, band[0]), fmax=min(HIGH, band[1]), sr=rate, frame_length=2048, hop_length=64,
                               fill_na=None)
    return float(numpy.median(found))


def finders():
    found = {"FFT peak": by_peak, "autocorrelation": by_autocorrelation}
    if librosa:
        found.update({"librosa yin": by_yin, "librosa pyin": by_pyin})
    return found


def ours(take, band):
    """Return the reply with "best", the best frequency whether it was answered or not, and "ms"."""
    samples = list(take.samples)
    start = time.process_time()
    reply = pluck.listen(samples, take.fs, band)
    reply["ms"] = (time.process_time() - start) * 1000
    reply["best"] = reply["best_hz"] or 1.0
    return reply


def off(hz, meta):
    return abs(hz / meta["f1"] - 1)


def octave(hz, meta):
    """Tell whether a wrong answer is a multiple or a part of the right one."""
    return off(hz, meta) > 0.03 and any(abs(hz / meta["f1"] / ratio - 1) < 0.03 for ratio in (0.5, 2, 1 / 3, 3, 0.25, 4))


def share(rows):
    rows = list(rows)
    return f"{100 * sum(rows) / len(rows):.1f} %" if rows else "-"


def wrong_band(take):
    """Return an expectation that does not hold the truth, the same for every run."""
    low, high = take.meta["prior"]
    draw = plucks.Rng(take.meta["seed"], "wrong band")
    factor = 2 ** (draw.sign() * draw.u(0.9, 1.6))
    return [low * factor, high * factor]


def measured(specs):
    """Listen to every take three times: with the band, without, and with a wrong one; and let the finders try the single plucks."""
    rows = []
    for spec in specs:
        take = plucks.make_take(**spec)
        row = {"meta": take.meta, "kind": spec["kind"], "band": ours(take, take.meta["prior"]), "blind": ours(take, None), "finders": {}}
        if spec["kind"] == "pluck":
            row["wrong"] = ours(take, wrong_band(take))
            x = numpy.array(take.samples, float) / 32768
            for name, find in finders().items():
                start = time.process_time()
                blind = find(x, take.fs, (LOW, HIGH))
                spent = (time.process_time() - start) * 1000
                row["finders"][name] = (blind, find(x, take.fs, take.meta["prior"]), spent)
        rows.append(row)
    return rows


def beside(single):
    """Print ours and the finders on the single plucks."""
    out = [["this core, best string", share(off(r["blind"]["best"], r["meta"]) <= 0.01 for r in single),
            share(off(r["band"]["best"], r["meta"]) <= 0.01 for r in single),
            share(octave(r["band"]["best"], r["meta"]) for r in single), f"{statistics.mean(r['band']['ms'] for r in single):.1f}"]]
    answered = [r for r in single if r["band"]["hz"]]
    freely = [r for r in single if r["blind"]["hz"]]
    out.append(["this core, of its answers", share(off(r["blind"]["hz"], r["meta"]) <= 0.01 for r in freely),
                share(off(r["band"]["hz"], r["meta"]) <= 0.01 for r in answered),
                share(octave(r["band"]["hz"], r["meta"]) for r in answered), ""])
    for name in finders():
        out.append([name, share(off(r["finders"][name][0], r["meta"]) <= 0.01 for r in single),
                    share(off(r["finders"][name][1], r["meta"]) <= 0.01 for r in single),
                    share(octave(r["finders"][name][1], r["meta"]) for r in single),
                    f"{statistics.mean(r['finders'][name][2] for r in single):.1f}"])
    tables.show(f"{len(single)} single plucks: within 1 %", ["by", "without band", "with band", "octave errors, with band", "CPU ms"], out,
                [] if librosa else ["librosa is not installed here: its two rows are missing (pip install -e '.[bench]')"])


def split(single, title, groups):
    rows = []
    for name, inside in groups:
        part = [r for r in single if inside(r["meta"])]
        answered = [r for r in part if r["band"]["hz"]]
        rows.append([name, len(part), share(off(r["blind"]["best"], r["meta"]) <= 0.01 for r in part),
                     share(off(r["band"]["best"], r["meta"]) <= 0.01 for r in part), share(bool(r["band"]["hz"]) for r in part),
                     share(bool(r["band"]["hz"]) and off(r["band"]["hz"], r["meta"]) <= 0.01 for r in part),
                     share(off(r["band"]["hz"], r["meta"]) > 0.01 for r in answered),
                     share(off(r["band"]["hz"], r["meta"]) > 0.03 for r in answered)])
    tables.show(title, ["", "takes", "within 1 % blind", "with band", "answered", "answered and right", "wrong of answered", "by over 3 %"], rows)


def honesty(rows):
    """Print how often the interval holds the truth, and how wide it is."""
    out = []
    for name, key in (("with band", "band"), ("without", "blind")):
        answered = [r for r in rows if r["meta"]["f1"] and r[key]["hz"]]
        if answered:
            out.append([name, len(answered), share(r[key]["low_hz"] <= r["meta"]["f1"] <= r[key]["high_hz"] for r in answered),
                        f"{100 * statistics.median((r[key]['high_hz'] - r[key]['low_hz']) / 2 / r[key]['hz'] for r in answered):.2f} %"])
    tables.show("The 95 % interval", ["", "answered", "holds the truth", "median half width"], out)


def refusals(rows):
    """Print what is answered where nothing was plucked, and takes of several plucks."""
    none = [r for r in rows if r["kind"] == "negative"]
    out = [[kind, sum(r["meta"]["negative"] == kind for r in none), share(bool(r["band"]["hz"]) for r in none if r["meta"]["negative"] == kind),
            share(bool(r["blind"]["hz"]) for r in none if r["meta"]["negative"] == kind)] for kind in plucks.NEGATIVES]
    out.append(["all", len(none), share(bool(r["band"]["hz"]) for r in none), share(bool(r["blind"]["hz"]) for r in none)])
    tables.show("Nothing was plucked: answered all the same", ["sound", "takes", "with band", "without"], out)
    many = [r for r in rows if r["kind"] == "multi"]
    out = []
    for name, part in (("6 dB and better", [r for r in many if r["meta"]["snr_db"] >= 6]), ("below", [r for r in many if r["meta"]["snr_db"] < 6])):
        if part:
            out.append([name, len(part), share(bool(r["band"]["hz"]) and off(r["band"]["hz"], r["meta"]) <= 0.01 for r in part),
                        sum(bool(r["band"]["hz"]) and off(r["band"]["hz"], r["meta"]) > 0.01 for r in part),
                        f"{statistics.mean(r['band']['ms'] for r in part):.0f}"])
    tables.show("Three to five plucks in a take", ["", "takes", "answered and right", "wrong", "CPU ms"], out)


def hard_takes(count):
    """Return [[name, takes], ...] of the cases known to be hard."""
    def make(first, **how):
        return [plucks.make_take(FRESH + first + i, **how) for i in range(count)]

    damped = []
    for i in range(count):
        f1 = 18 * (350 / 18) ** (i / max(1, count - 1))
        damped.append(plucks.make_take(FRESH + 600000 + i, f1=f1, belt={"tau1": 5 / (math.pi * f1)}))
    steep = [plucks.make_take(FRESH + 640000 + i, f1=18 * (28 / 18) ** (i / max(1, count - 1)), mic={"order": 3, "corner": 120.0})
             for i in range(count)]
    return [["damped, Q 5", damped], ["neighbouring span at -6 dB", make(610000, belt={"span2_amp": 0.5})],
            ["pitch falls by 3 %", make(620000, belt={"glide": 0.03})], ["18-28 Hz, steep microphone", steep],
            ["ringing tool", make(650000, kind="negative", negative="clank")]]


def hard(count):
    rows = []
    for name, takes in hard_takes(count):
        found = [(ours(take, take.meta["prior"]), take.meta) for take in takes]
        answered = [(reply, meta) for reply, meta in found if reply["hz"]]
        if takes[0].meta["f1"]:
            rows.append([name, len(found), share(off(r["best"], m) <= 0.01 for r, m in found), len(answered),
                         sum(off(r["hz"], m) > 0.01 for r, m in answered)])
        else:
            rows.append([name, len(found), "", len(answered), len(answered)])
    tables.show("Hard cases, with the band", ["case", "takes", "within 1 %", "answered", "wrong"], rows)


def main(limit=60, name="heldout"):
    rows = measured(chosen(name, limit))
    single = [r for r in rows if r["kind"] == "pluck"]
    print(f"\nset {name}: {len(rows)} takes")
    beside(single)
    split(single, "By level", [[f"{level} dB", lambda m, level=level: m["snr_db"] == level] for level in LEVELS]
          + [["6 dB and better", lambda m: m["snr_db"] >= 6], ["12 dB and better", lambda m: m["snr_db"] >= 12], ["all", lambda m: True]])
    split(single, "By frequency", [[f"{low}-{high} Hz", lambda m, low=low, high=high: low <= m["f1"] < high] for low, high in BANDS])
    honesty(rows)
    refusals(rows)
    wrong = sum(bool(r["wrong"]["hz"]) and off(r["wrong"]["hz"], r["meta"]) > 0.01 for r in single)
    tables.show("Band wrong on purpose", ["takes", "answered", "wrong of all"],
                [[len(single), share(bool(r["wrong"]["hz"]) for r in single), f"{100 * wrong / len(single):.1f} %"]])
    hard(max(10, min(HARD_TAKES, limit or HARD_TAKES)))


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("--limit", type=int, default=0)
    asked.add_argument("--set", default="heldout", choices=("heldout", "fresh"))
    given = asked.parse_args()
    main(given.limit, given.set)
