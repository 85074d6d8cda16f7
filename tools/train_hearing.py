"""Fit the network that hears plucks (webapp/core/network_weights.py) to synthetic takes: python tools/train_hearing.py FOLDER.

Needs `pip install -e '.[test,train]'`.  FOLDER keeps what was computed of the takes, so that a run can be broken
off and taken up again; remove it when the core's features or the generator have changed.  All of them need about an hour on two cores.

The takes have seeds from 4,000,000 on; the sets "tune" and "heldout" of tests/plucks.py and the seeds of the tests are not among them.
"""

import argparse
import math
import multiprocessing
import sys
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy
import optax

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import plucks  # noqa: E402

from webapp.core import features, network, partials, spectrum, survey  # noqa: E402

FIRST_SEED = 4_000_000
# So many takes as a bay makes them, then plucks such as the generator does not draw by itself, then more of what is rare and difficult.
MIXED, OTHER, RARE = 40_000, 4_000, 3_000
CHUNK = 200
# Of twenty takes: single plucks at these levels [dB], then three other sounds, one of several plucks, two hard cases.
LEVELS = (-6, -3, 0, 3, 6, -6, 0, 6, 12, 20, -2, 9, 15, 1)
OTHERS = 3
# Layers: for each partial, their sum, the last hidden one.
SIZES = (24, 8, 32)
EPOCHS, BATCH, RATE, DECAY = 16, 64, 1e-2, 0.1
# The band is left out, or shifted to where the truth is not, in so many of the takes; in others in each epoch.
NO_BAND, WRONG_BAND = 0.1, 0.1
# Frequencies are learned in log %. A pluck that no string explains may lie anywhere in 300 of them.
ANYWHERE = 300.0
# Share of the loss that asks for the chance within 1 %; the rest asks for the density, which keeps the spread honest.
WITHIN = 0.9


def spec(i):
    """Return the arguments of the i-th take."""
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


def told(take):
    """Return what the core tells of the strings of a take: arrays of partials, their number, of strings, of first frequencies."""
    of_partials = numpy.zeros((survey.KEPT, features.PARTIALS, features.OF_PARTIAL), numpy.float32)
    heard = numpy.zeros((survey.KEPT, features.PARTIALS), numpy.float32)
    of_string = numpy.zeros((survey.KEPT, features.OF_STRING), numpy.float32)
    firsts = numpy.zeros(survey.KEPT)
    surveyed = survey.Take(spectrum.lowered([v / 32768 for v in take.samples], take.fs))
    for k, (string, (rows, whole)) in enumerate(zip(surveyed.strings, surveyed.told(), strict=True)):
        of_partials[k, :len(rows)] = numpy.array(rows).reshape(-1, features.OF_PARTIAL)
        heard[k, :len(rows)] = 1
        of_string[k] = whole
        firsts[k] = partials.first_hz(string[1], string[2])
    return of_partials, heard, of_string, firsts, take.meta["f1"] or 0.0, take.meta["prior"]


def collect(job):
    """Keep what is told of one chunk of takes."""
    first, path = job
    if not path.exists():
        rows = [told(plucks.make_take(**spec(i))) for i in range(first, first + CHUNK)]
        part = path.with_suffix(".part.npz")
        numpy.savez(part, *[numpy.array(column) for column in zip(*rows, strict=True)])
        part.rename(path)
    return path


def beyond(firsts, bands):
    """Return `features.of_band` of each string of each take; a band of NaN is none."""
    none = numpy.isnan(bands[:, :1])
    with numpy.errstate(divide="ignore"):
        away = numpy.maximum(numpy.log(bands[:, :1] / features.EDGE / firsts),
                             numpy.log(firsts / bands[:, 1:] / features.EDGE))
    away = numpy.where(none | (firsts == 0), 0, numpy.maximum(0, away))
    return numpy.stack([away > 0, numpy.minimum(features.FURTHEST_OUT, away), numpy.broadcast_to(none, away.shape)], -1).astype(numpy.float32)


def expected(bands, draw):
    """Return the bands with some left out and some shifted."""
    dice = draw.random(len(bands))
    shift = 2 ** (draw.choice([-1, 1], len(bands)) * draw.uniform(0.9, 1.6, len(bands)))
    shift = numpy.where(dice < NO_BAND, numpy.nan, numpy.where(dice < NO_BAND + WRONG_BAND, shift, 1.0))
    return bands * shift[:, None]


def prepared(paths):
    """Return (the takes as a dict of arrays, scales of the numbers, first frequencies of the strings, bands)."""
    columns = [numpy.concatenate(parts) for parts in zip(*[list(numpy.load(path).values()) for path in paths], strict=True)]
    of_partials, heard, of_string, firsts, truth, bands = columns
    there = firsts > 0
    one, whole = of_partials[heard > 0], of_string[there]
    scales = [one.mean(0), one.std(0) + 1e-3, whole.mean(0), whole.std(0) + 1e-3]
    with numpy.errstate(divide="ignore"):
        hz, goal = [numpy.where(values > 0, 100 * numpy.log(values), 0).astype(numpy.float32) for values in (firsts, truth)]
    return {"partials": (of_partials - scales[0]) / scales[1] * heard[..., None], "heard": heard,
            "string": (of_string - scales[2]) / scales[3] * there[..., None], "there": there, "hz": hz,
            "plucked": truth > 0, "truth": goal}, scales, firsts, bands


def started(seed):
    """Return random weights, in the order in which `core.network` reads them."""
    keys = jax.random.split(jax.random.PRNGKey(seed), 5)
    one, sums, two = SIZES
    joined = sums + features.OF_STRING + features.OF_BAND
    return [jax.random.normal(keys[0], (features.OF_PARTIAL, one)) * math.sqrt(2 / features.OF_PARTIAL),
            jax.random.normal(keys[4], (features.PARTIALS, one)) * 0.1,
            jax.random.normal(keys[1], (one, sums)) * math.sqrt(0.5 / one),
            jax.random.normal(keys[2], (joined, two)) * math.sqrt(2 / joined), jnp.zeros(two),
            jax.random.normal(keys[3], (two, 3)) * math.sqrt(0.3 / two), jnp.array([0.0, 0.0, -0.5]), jnp.zeros(())]


def judged(weights, takes):
    """Return log chances of the strings and of none, their frequencies and the logarithms of their spreads [log %]."""
    see, biases, add, join, shifts, tell, last, nothing = weights
    seen = (jnp.maximum(takes["partials"] @ see + biases, 0) * takes["heard"][..., None]).sum(-2) @ add
    odds, away, spread = jnp.moveaxis(
        jnp.maximum(jnp.concatenate([seen, takes["string"], takes["band"]], -1) @ join + shifts, 0) @ tell + last, -1, 0)
    odds = jnp.concatenate([jnp.where(takes["there"], odds, -1e9), jnp.broadcast_to(nothing, odds[:, :1].shape)], 1)
    hz = takes["hz"] + network.FURTHEST * jnp.tanh(away / network.FURTHEST)
    return jax.nn.log_softmax(odds, -1), hz, jnp.clip(spread, *network.SPREADS)


def loss(weights, takes):
    """Return the mean of minus the log chance of the truth."""
    chances, hz, spread = judged(weights, takes)
    off = takes["truth"][:, None] - hz
    scale = jnp.exp(spread)
    within = jax.nn.sigmoid((off + 1) / scale) - jax.nn.sigmoid((off - 1) / scale)
    density = -off / scale - 2 * jax.nn.softplus(-off / scale) - spread
    near = jnp.logaddexp(jax.nn.logsumexp(chances[:, :-1] + jnp.log(within + 1e-6), 1), chances[:, -1] + math.log(2 / ANYWHERE))
    dense = jnp.logaddexp(jax.nn.logsumexp(chances[:, :-1] + density, 1), chances[:, -1] - math.log(ANYWHERE))
    return -jnp.where(takes["plucked"], WITHIN * near + (1 - WITHIN) * dense, chances[:, -1]).mean()


def fitted(takes, firsts, bands, seed):
    """Return (the weights after all epochs, loss of the last epoch)."""
    weights = started(seed)
    count = len(takes["truth"])
    steps = count // BATCH
    rule = optax.adamw(optax.cosine_decay_schedule(RATE, EPOCHS * steps), weight_decay=DECAY)
    state = rule.init(weights)

    @jax.jit
    def step(weights, state, some):
        value, slope = jax.value_and_grad(loss)(weights, some)
        change, state = rule.update(slope, state, weights)
        return optax.apply_updates(weights, change), state, value

    draw = numpy.random.default_rng(seed)
    for _ in range(EPOCHS):
        takes["band"] = beyond(firsts, expected(bands, draw))
        order = draw.permutation(count)
        last = 0.0
        for i in range(steps):
            some = order[i * BATCH:(i + 1) * BATCH]
            weights, state, value = step(weights, state, {name: column[some] for name, column in takes.items()})
            last += float(value) / steps
    return weights, last


def coded(weights):
    """Return the weights as text, as `core.network` reads it."""
    letters = network.LETTERS
    steps = numpy.concatenate([numpy.ravel(part) for part in weights]) * network.SCALE + network.ZERO
    steps = numpy.clip(numpy.rint(steps), 0, len(letters) ** 2 - 1).astype(int)
    return "".join(letters[step // len(letters)] + letters[step % len(letters)] for step in steps)


def written(weights, scales, count):
    """Return the module of weights as text."""
    out = [f'"""Weights of `network`, made by tools/train_hearing.py from {count} synthetic takes with seeds from {FIRST_SEED} on."""', "",
           f"SIZES = {SIZES}", f"NOTHING = {float(weights[-1]):.4f}"]
    for name, values in zip(("MEANS_OF_PARTIAL", "SPREADS_OF_PARTIAL", "MEANS_OF_STRING", "SPREADS_OF_STRING"), scales, strict=True):
        out.append(f"{name} = (")
        out += ["    " + " ".join(f"{value:.4g}," for value in values[i:i + 12]) for i in range(0, len(values), 12)]
        out.append(")")
    text = coded(weights[:-1])
    out.append("CODED = (")
    out += [f'    "{text[i:i + 120]}"' for i in range(0, len(text), 120)]
    out.append(")")
    return "\n".join(out) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="keeps what was computed of the takes")
    parser.add_argument("--takes", type=int, default=MIXED + OTHER + RARE)
    parser.add_argument("--seed", type=int, default=0, help="of the first weights and of the order of the takes")
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    jobs = [(first, asked.folder / f"{first:06}.npz") for first in range(0, asked.takes, CHUNK)]
    with multiprocessing.get_context("spawn").Pool() as pool:
        paths = list(pool.imap(collect, jobs))
    takes, scales, firsts, bands = prepared(paths)
    weights, last = fitted(takes, firsts, bands, asked.seed)
    print(f"{len(takes['truth'])} takes, loss {last:.4f}")
    out = ROOT / "webapp" / "core" / "network_weights.py"
    out.write_text(written(weights, scales, len(takes["truth"])), encoding="utf-8")


if __name__ == "__main__":
    main()
