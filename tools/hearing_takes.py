"""What the core tells of synthetic takes, for tools/train_hearing.py: python tools/hearing_takes.py FOLDER jumps|strings

FOLDER keeps it in files of 200 takes, so that a run can be broken off and taken up again; remove FOLDER/jumps when the core's
`releases` have changed, FOLDER/strings when anything of the hearing has.  Standard library only, so that PyPy runs it, five times as fast
as CPython: two cores need about a quarter of an hour for the jumps of all takes and half an hour for their strings.

The takes have seeds from 4,000,000 on; the sets "tune" and "heldout" of tests/plucks.py and the seeds of the tests are not among them.
"""

import argparse
import math
import multiprocessing
import sys
from array import array
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import plucks  # noqa: E402

from webapp.core import features, partials, releases, spectrum, survey  # noqa: E402

FIRST_SEED, FURTHER_SEED, HARD_SEED = 4_000_000, 5_000_000, 6_000_000
# So many takes as a bay makes them, then plucks such as the generator does not draw by itself, then more of what is rare and difficult,
# then all of it again in other shares, then hard cases alone, most of them plucks that die fast.
MIXED, OTHER, RARE, FURTHER, HARD = 40_000, 4_000, 3_000, 60_000, 20_000
# For releases the first three are enough.
TAKES = {"jumps": MIXED + OTHER + RARE, "strings": MIXED + OTHER + RARE + FURTHER + HARD}
CHUNK = 200
# Of twenty takes: single plucks at these levels [dB], then three other sounds, one of several plucks, two hard cases.
LEVELS = (-6, -3, 0, 3, 6, -6, 0, 6, 12, 20, -2, 9, 15, 1)
OTHERS = 3
FURTHER_LEVELS = (-6, -3, 0, 3, 6, -6, 0, 6, 12, -4, -2, 9, 15, 1)
# What counts more than once: plucks that die faster than any the generator draws by itself (Q below), those that fall further (share), and
# those it does not draw by itself.
DAMPED, FALLING = 7.9, 0.0101
DAMPED_COUNTS, FALLING_COUNTS, OTHER_COUNTS = 2.0, 3.5, 2.5
# Numbers of a take: truth [Hz] or 0, band [Hz], how many times it counts; then of each candidate whether it is there, how far the next
# release is [s], what is told; or of each string its first frequency or 0, whether each partial is there, what is told of them and of the whole.
OF_TRUTH = 4
OF_CANDIDATE = 2 + releases.OF_JUMP
OF_STRING = 1 + features.PARTIALS * (1 + features.OF_PARTIAL) + features.OF_STRING


def spec(i):
    """Return the arguments of the i-th take."""
    if i >= MIXED + OTHER + RARE + FURTHER:
        seed = HARD_SEED + i - MIXED - OTHER - RARE - FURTHER
        draw = plucks.Rng(seed, "grid")
        return hard(seed, draw, 0 if i % 10 < 7 else None)
    if i >= MIXED + OTHER + RARE:
        return more(FURTHER_SEED + i - MIXED - OTHER - RARE)
    seed = FIRST_SEED + i
    draw = plucks.Rng(seed, "grid")
    along = draw.u()
    if i >= MIXED + OTHER:
        return {"seed": seed, "kind": "multi", "snr_db": draw.u(-3, 20)} if i % 2 else hard(seed, draw, (i // 2 % 2) * 2)
    if i >= MIXED:
        return other(seed, draw, along)
    at = i % 20
    if at < len(LEVELS):
        return {"seed": seed, "snr_db": LEVELS[at], "f1": 18 * (350 / 18) ** along}
    if at < len(LEVELS) + OTHERS:
        return {"seed": seed, "kind": "negative", "negative": plucks.NEGATIVES[int(along * 10)] if draw.u() < 0.8 else "clank"}
    if at == len(LEVELS) + OTHERS:
        return {"seed": seed, "kind": "multi", "snr_db": draw.pick((-6, 0, 6, 12, 20))}
    return hard(seed, draw)


def more(seed):
    """Return the arguments of one of the further takes: levels in between, more of several plucks, of music, voices and of what is rare."""
    draw = plucks.Rng(seed, "grid")
    along = draw.u()
    at = seed % 20
    if at < len(FURTHER_LEVELS):
        return {"seed": seed, "snr_db": FURTHER_LEVELS[at] + draw.u(-1, 1), "f1": 18 * (350 / 18) ** along}
    if at < 16:
        sound = plucks.NEGATIVES[int(along * 10)] if draw.u() < 0.7 else draw.pick(("clank", "music", "voice"))
        return {"seed": seed, "kind": "negative", "negative": sound}
    if at < 18:
        return {"seed": seed, "kind": "multi", "snr_db": draw.u(-6, 14)}
    return hard(seed, draw, draw.pick((0, 2)) if at == 18 else None)


def other(seed, draw, along):
    """Return a pluck that the generator does not draw by itself: little noise, no stiffness, a steady pitch, partials that fade alike, the
    first ones hardly heard."""
    belt = {"B": draw.log(1e-6, 0.03)}
    if draw.chance(0.5):
        belt.update(glide=0.0, pol_amp=0.0)
    if draw.chance(0.5):
        belt.update(c1=0.0, c2=0.0, frame=[], span2_amp=0.0)
    out = {"seed": seed, "snr_db": draw.u(5, 50), "f1": 18 * (350 / 18) ** along, "belt": belt}
    if draw.chance(0.4):
        out["mic"] = {"order": 3, "corner": draw.u(100, 300)}
    return out


def hard(seed, draw, case=None):
    """Return a pluck that dies fast, has a loud neighbour, falls in pitch, or is low before a steep microphone."""
    out = {"seed": seed, "snr_db": draw.u(-4, 20)}
    case = draw.pick((0, 1, 2, 3)) if case is None else case
    if case == 0:
        first = 18 * (350 / 18) ** draw.u()
        out["belt"] = {"f1": first, "tau1": draw.u(4, 9) / (math.pi * first)}
    if case == 1:
        out["belt"] = {"span2_amp": draw.log(0.2, 0.7)}
    if case == 2:
        out["belt"] = {"glide": draw.u(0.015, 0.04)}
    if case == 3:
        out.update(f1=18 * (28 / 18) ** draw.u(), mic={"order": 3})
    return out


def jumps(sound, meta):
    """Return the numbers of the candidates for a release."""
    curved, rises = releases.rising(sound)
    out = []
    for t, row in zip(*releases.told(curved, rises)):
        moment = releases.moment(rises, t) / spectrum.RATE
        out += [1.0, min([abs(moment - onset) for onset in meta["onsets"]] + [9.0])] + row
    return out + [0.0] * (releases.CANDIDATES * OF_CANDIDATE - len(out))


def strings(sound, meta):
    """Return the numbers of the strings."""
    surveyed = survey.Take(sound)
    out = []
    for string in surveyed.strings:
        matches, of_string = surveyed.whole(string)
        of_partials = surveyed.parts(string, matches)
        missing = features.PARTIALS - len(of_partials)
        out += [partials.first_hz(string[1], string[2])] + [1.0] * len(of_partials) + [0.0] * missing
        for row in of_partials:
            out += row
        out += [0.0] * (missing * features.OF_PARTIAL) + of_string
    return out + [0.0] * (survey.KEPT * OF_STRING - len(out))


def counts(i, meta):
    """Return how many times a take counts."""
    if not meta["f1"]:
        return 1.0
    belt = meta["belt"]
    if belt["tau1"] * math.pi * belt["f1"] < DAMPED:
        return DAMPED_COUNTS
    if belt["glide"] > FALLING:
        return FALLING_COUNTS
    return OTHER_COUNTS if MIXED <= i < MIXED + OTHER else 1.0


def collect(job):
    """Keep what is told of one chunk of takes."""
    first, path, tell = job
    if not path.exists():
        out = array("f")
        for i in range(first, first + CHUNK):
            take = plucks.make_take(**spec(i))
            out.extend([take.meta["f1"] or 0.0, *take.meta["prior"], counts(i, take.meta)])
            out.extend(tell(spectrum.lowered([v / 32768 for v in take.samples], take.fs), take.meta))
        part = path.with_suffix(".part")
        part.write_bytes(out.tobytes())
        part.rename(path)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="keeps what is told of the takes")
    parser.add_argument("what", choices=("jumps", "strings"))
    parser.add_argument("--takes", type=int, help="so many of them only")
    asked = parser.parse_args()
    folder = asked.folder / asked.what
    folder.mkdir(parents=True, exist_ok=True)
    tell = {"jumps": jumps, "strings": strings}[asked.what]
    jobs = [(first, folder / f"{first:06}.f32", tell) for first in range(0, asked.takes or TAKES[asked.what], CHUNK)]
    with multiprocessing.get_context("spawn").Pool() as pool:
        pool.map(collect, jobs, 1)


if __name__ == "__main__":
    main()
