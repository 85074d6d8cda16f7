"""Fit the networks that hear plucks to synthetic takes: python tools/train_hearing.py FOLDER releases|strings.

Needs `pip install -e '.[test,train]'`, and of FOLDER what tools/hearing_takes.py keeps there.  From nothing to the end:

    pypy3 tools/hearing_takes.py FOLDER jumps; python tools/train_hearing.py FOLDER releases
    pypy3 tools/hearing_takes.py FOLDER strings; python tools/train_hearing.py FOLDER strings

The first network tells a release from other sudden sounds (webapp/core/release_weights.py), the second one the strings after the releases
that the first one found, those that a logistic regression finds the most promising (webapp/core/network_weights.py).  16 GB of memory.
"""

import argparse
import math
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy
import optax
from hearing_takes import CHUNK, FIRST_SEED, OF_CANDIDATE, OF_STRING, OF_TRUTH, ROOT

from webapp.core import features, layers, network, releases, survey

# Of the network for releases: hidden units; epochs, decay of the weights. A candidate is a release when one is so near [s].
SIZE, OF_RELEASES, NEAR_S = 8, (12, 0.1), 0.025
# Of the network for strings: layers for each partial, their sum, the last hidden one; epochs and decay, and those of what a string promises.
SIZES, OF_STRINGS, OF_PROMISE = (45, 13, 60), (20, 0.03), (4, 0.03)
BATCH, RATE = 64, 1e-2
# The band is left out, or shifted to where the truth is not, in so many of the takes; in others in each epoch.
NO_BAND, WRONG_BAND = 0.1, 0.1
# Frequencies are learned in log %. A pluck that no string explains may lie anywhere in 300 of them.
ANYWHERE = 300.0
# Share of the loss that asks for the chance within 1 %; the rest asks for the density, which keeps the spread honest.
WITHIN = 0.9


def told(folder, rows, numbers):
    """Return (what is known of the takes, what was told of them)."""
    paths = sorted(folder.glob("*.f32"))
    takes = numpy.empty((len(paths) * CHUNK, OF_TRUTH + rows * numbers), numpy.float32)
    for i, path in enumerate(paths):
        takes[i * CHUNK:(i + 1) * CHUNK] = numpy.fromfile(path, numpy.float32).reshape(CHUNK, -1)
    return takes[:, :OF_TRUTH], takes[:, OF_TRUTH:].reshape(len(takes), rows, numbers)


def fitted(takes, weights, loss, how, seed, renew=None):
    """Return (the weights after all epochs, loss of the last epoch); `renew` changes the takes before each epoch."""
    epochs, decay = how
    count = len(next(iter(takes.values())))
    steps = count // BATCH
    rule = optax.adamw(optax.cosine_decay_schedule(RATE, epochs * steps), weight_decay=decay)
    state = rule.init(weights)

    @jax.jit
    def step(weights, state, some):
        value, slope = jax.value_and_grad(loss)(weights, some)
        change, state = rule.update(slope, state, weights)
        return optax.apply_updates(weights, change), state, value

    draw = numpy.random.default_rng(seed)
    for _ in range(epochs):
        if renew:
            renew(takes, draw)
        order = draw.permutation(count)
        last = 0.0
        for i in range(steps):
            some = order[i * BATCH:(i + 1) * BATCH]
            weights, state, value = step(weights, state, {name: column[some] for name, column in takes.items()})
            last += float(value) / steps
    return weights, last


# ---- releases


def of_releases(folder):
    """Return (takes as a dict of arrays, scales of the numbers)."""
    _, rows = told(folder / "jumps", releases.CANDIDATES, OF_CANDIDATE)
    there, release, jump = rows[..., 0], rows[..., 0] * (rows[..., 1] < NEAR_S), rows[..., 2:]
    known = jump[there > 0]
    scales = [known.mean(0), known.std(0) + 1e-3]
    return {"jump": (jump - scales[0]) / scales[1] * there[..., None], "there": there, "release": release}, scales


def first_of_releases(seed):
    """Return random weights, in the order in which `core.releases` reads them."""
    keys = jax.random.split(jax.random.PRNGKey(seed), 3)
    return [jax.random.normal(keys[0], (releases.OF_JUMP, SIZE)) * math.sqrt(2 / releases.OF_JUMP), jnp.zeros(SIZE),
            jax.random.normal(keys[1], (SIZE, 1)) * math.sqrt(1 / SIZE), jnp.zeros(1)]


def loss_of_releases(weights, takes):
    """Return the mean of minus the log chances: of each candidate by itself, and of the right one among all of its take."""
    see, shifts, tell, last = weights
    odds = (jnp.maximum(takes["jump"] @ see + shifts, 0) @ tell + last)[..., 0]
    alone = (takes["there"] * (jax.nn.softplus(odds) - takes["release"] * odds)).sum(-1)
    chances = jax.nn.log_softmax(jnp.where(takes["there"] > 0, odds, -1e9), -1)
    right = -jax.nn.logsumexp(jnp.where(takes["release"] > 0, chances, -1e9), -1)
    return (alone + jnp.where(takes["release"].any(-1), right, 0)).mean()


# ---- strings


def beyond(firsts, bands):
    """Return `features.of_band` of each string of each take; a band of NaN is none."""
    none = numpy.isnan(bands[:, :1])
    with numpy.errstate(divide="ignore"):
        away = numpy.maximum(numpy.log(bands[:, :1] / features.EDGE / firsts),
                             numpy.log(firsts / bands[:, 1:] / features.EDGE))
    away = numpy.where(none | (firsts == 0), 0, numpy.maximum(0, away))
    columns = [away > 0, numpy.minimum(features.FURTHEST_OUT, away), numpy.broadcast_to(none, away.shape)]
    return numpy.stack(columns, -1).astype(numpy.float32)


def expected(bands, draw):
    """Return the bands with some left out and some shifted."""
    dice = draw.random(len(bands))
    shift = 2 ** (draw.choice([-1, 1], len(bands)) * draw.uniform(0.9, 1.6, len(bands)))
    shift = numpy.where(dice < NO_BAND, numpy.nan, numpy.where(dice < NO_BAND + WRONG_BAND, shift, 1.0))
    return bands * shift[:, None]


def of_strings(folder):
    """Return (takes as a dict of arrays, scales of the numbers, what changes the band of the takes)."""
    known, rows = told(folder / "strings", survey.KEPT, OF_STRING)
    truth, bands = known[:, 0], known[:, 1:3].astype(float)
    seen = 1 + features.PARTIALS
    ends = seen + features.PARTIALS * features.OF_PARTIAL
    firsts, heard, of_string = rows[..., 0].astype(float), rows[..., 1:seen], rows[..., ends:]
    of_partials = rows[..., seen:ends].reshape(*heard.shape, features.OF_PARTIAL)
    there = firsts > 0
    # A part of the takes is enough for the scales.
    one, whole = of_partials[::10][heard[::10] > 0], of_string[there]
    scales = [one.mean(0), one.std(0) + 1e-3, whole.mean(0), whole.std(0) + 1e-3]
    for values, mean, spread, used in ((of_partials, *scales[:2], heard), (of_string, *scales[2:], there)):
        # In place, as there are gigabytes of it.
        values -= mean
        values /= spread
        values *= used[..., None]
    with numpy.errstate(divide="ignore"):
        hz, goal = [numpy.where(values > 0, 100 * numpy.log(values), 0).astype(numpy.float32) for values in (firsts, truth)]
    takes = {"partials": of_partials, "heard": heard, "string": of_string, "there": there, "hz": hz, "plucked": truth > 0,
             "truth": goal, "counts": known[:, 3]}

    def renew(takes, draw):
        takes["band"] = beyond(firsts, expected(bands, draw))

    return takes, scales, renew


def whole_of(takes):
    """Return what is told of the strings as a whole, the band too."""
    return jnp.concatenate([takes["string"], takes["band"]], -1)


def loss_of_promise(weights, takes):
    """Return the mean of minus the log chance of a string within 1 % of the truth."""
    chances = jax.nn.log_softmax(jnp.where(takes["there"], whole_of(takes) @ weights, -1e9), -1)
    return -jax.nn.logsumexp(jnp.where(takes["near"], chances, -1e9), -1).mean()


def promise(takes, renew, seed):
    """Return what each number of a string as a whole counts when the promising strings are chosen."""
    near = takes["there"] & takes["plucked"][:, None] & (abs(takes["hz"] - takes["truth"][:, None]) < 1)
    some = near.any(1)
    renew(takes, numpy.random.default_rng(seed))
    known = {name: takes[name][some] for name in ("string", "band", "there")}
    return fitted(known | {"near": near[some]}, jnp.zeros(features.OF_STRING + features.OF_BAND), loss_of_promise, OF_PROMISE, seed)[0]


def promising(takes, weights):
    """Return the takes with those strings only that promise most."""
    order = jnp.argsort(jnp.where(takes["there"], -(whole_of(takes) @ weights), 1e9), -1)[:, :survey.JUDGED]
    chosen = {name: jnp.take_along_axis(takes[name], order.reshape(*order.shape, *[1] * (takes[name].ndim - 2)), 1)
              for name in ("partials", "heard", "string", "there", "hz", "band")}
    return takes | chosen


def first_of_strings(seed):
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


def loss_of_strings(weights, takes):
    """Return the mean of minus the log chance of the truth; `takes` hold the promising strings."""
    chances, hz, spread = judged(weights, takes)
    off = takes["truth"][:, None] - hz
    scale = jnp.exp(spread)
    within = jax.nn.sigmoid((off + 1) / scale) - jax.nn.sigmoid((off - 1) / scale)
    density = -off / scale - 2 * jax.nn.softplus(-off / scale) - spread
    near = jnp.logaddexp(jax.nn.logsumexp(chances[:, :-1] + jnp.log(within + 1e-6), 1), chances[:, -1] + math.log(2 / ANYWHERE))
    dense = jnp.logaddexp(jax.nn.logsumexp(chances[:, :-1] + density, 1), chances[:, -1] - math.log(ANYWHERE))
    each = -jnp.where(takes["plucked"], WITHIN * near + (1 - WITHIN) * dense, chances[:, -1])
    return (takes["counts"] * each).sum() / takes["counts"].sum()


# ---- written


def coded(weights):
    """Return the weights as text, as `core.layers` reads it."""
    letters = layers.LETTERS
    steps = numpy.concatenate([numpy.ravel(part) for part in weights]) * layers.SCALE + layers.ZERO
    steps = numpy.clip(numpy.rint(steps), 0, len(letters) ** 2 - 1).astype(int)
    return "".join(letters[step // len(letters)] + letters[step % len(letters)] for step in steps)


def written(of, count, heads, scales, weights):
    """Return a module of weights as text."""
    out = [f'"""Weights of `{of}`, made by tools/train_hearing.py from {count} synthetic takes with seeds from {FIRST_SEED} on."""', "", *heads]
    for name, values in scales.items():
        out.append(f"{name} = (")
        out += ["    " + " ".join(f"{value:.4g}," for value in values[i:i + 12]) for i in range(0, len(values), 12)]
        out.append(")")
    text = coded(weights)
    out.append("CODED = (")
    out += [f'    "{text[i:i + 120]}"' for i in range(0, len(text), 120)]
    out.append(")")
    return "\n".join(out) + "\n"


def fit_releases(folder, seed):
    takes, scales = of_releases(folder)
    weights, last = fitted(takes, first_of_releases(seed), loss_of_releases, OF_RELEASES, seed)
    named = dict(zip(("MEANS", "SPREADS"), scales, strict=True))
    return "release_weights", last, written("releases", len(takes["there"]), [f"SIZE = {SIZE}"], named, weights)


def fit_strings(folder, seed):
    takes, scales, renew = of_strings(folder)
    first = promise(takes, renew, seed)
    weights, last = fitted(takes, first_of_strings(seed), lambda weights, some: loss_of_strings(weights, promising(some, first)), OF_STRINGS,
                           seed, renew)
    heads = [f"SIZES = {SIZES}", f"NOTHING = {float(weights[-1]):.4f}"]
    names = ("MEANS_OF_PARTIAL", "SPREADS_OF_PARTIAL", "MEANS_OF_STRING", "SPREADS_OF_STRING", "PROMISE")
    # Of the first look only differences between strings count, so that it needs no means.
    values = [*scales, numpy.asarray(first) / numpy.append(scales[3], numpy.ones(features.OF_BAND))]
    return "network_weights", last, written("network", len(takes["truth"]), heads, dict(zip(names, values, strict=True)), weights[:-1])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="of tools/hearing_takes.py")
    parser.add_argument("what", choices=("releases", "strings"))
    parser.add_argument("--seed", type=int, default=0, help="of the first weights and of the order of the takes")
    asked = parser.parse_args()
    name, last, text = {"releases": fit_releases, "strings": fit_strings}[asked.what](asked.folder, asked.seed)
    print(f"loss {last:.4f}")
    (ROOT / "webapp" / "core" / f"{name}.py").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
