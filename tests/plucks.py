"""A synthetic generator: takes of a phone microphone near a plucked belt span, for tests and benches.

Nothing here was recorded. It shows how a method copes with this physics, not how it copes with a real belt.

Pure standard library (no numpy), so the same seed gives the same int16 samples
wherever IEEE doubles and a sane libm are found.  Every random choice comes from
``random.Random(str)`` streams through ``random()`` only (the Mersenne Twister
``random()`` stream is guaranteed stable between Python versions; ``gauss`` and
``shuffle`` are not), one independent stream per concern, so that changing e.g.
the SNR of a seed leaves the belt, the microphone and the noise shape unchanged.

    take = make_take(7)                          # one pluck, everything random
    take = make_take(7, snr_db=6, f1=43.0)       # same, two things pinned
    take = make_take(7, kind="multi")            # 3-5 plucks of the same belt
    take = make_take(7, kind="negative", negative="voice")
    take.samples   array('h'), take.fs, take.meta (truth, JSON-able)

The physics
-----------
* Belt span = stiff string, pinned ends:  f_n = n f0 sqrt(1 + B n^2).
  The truth is f1 = f0 sqrt(1 + B), the small-amplitude first transverse mode.
* Pluck = release of a displaced point at p*L with a finite finger width
  (modal displacement ~ sin(n pi p)/n^2), or a tap = half-sine force pulse of
  some milliseconds (modal displacement ~ sin(n pi p)/f_n x pulse spectrum).
* Sound = compact dipole: pressure ~ acceleration x sqrt(1 + (k r)^2); the phone
  sits at q*L and a distance r, so mode n is seen through sin(n pi q), and
  short-wavelength modes are averaged out as exp(-n pi r / L).  Phone at
  mid-span: even modes nearly vanish.  Plus a few dB of per-mode ripple (room).
* Damping: 1/tau_n = (1/tau_1)(1 + c1 (n_f-1) + c2 (n_f^2-1)), n_f = f_n/f_1;
  Q of mode 1 is kept >= 8 (rubber with cord).
* Two polarisations: a weaker copy detuned by up to 0.8 %.
* Tension glide: f(t) = f (1 + g exp(-2 t/tau_1)), g up to 1 %.
* Leaks: the neighbouring span answers weakly at its own pitch, the frame rings
  for some ms, the release makes a broadband click, the finger scuffs before it
  and (multi) stops the span before the next pluck.
* Microphone: high-pass (order 1-3, corner 60-120 Hz) + DC blocker; optional
  compressor-type AGC; optional ADC clipping; 16-bit rounding.

SNR: mean power of the clean pluck after the microphone filter over the first
0.25 s after release (of the median pluck when several), over mean power of the
noise after the same filter in the whole take, both within 15-1000 Hz.  Thumps,
scuffs and clicks are not counted in the noise.
"""

import math
import random
import zlib
from array import array

VERSION = 1

NOISES = ("pink", "brown", "hum50", "hum60", "fan", "compressor", "voice", "mix")
NEGATIVES = (
    "pink",        # broadband only
    "hum",         # mains hum, steady
    "hum_on",      # hum or a fan that is switched on in the take
    "fan",
    "compressor",
    "voice",
    "thumps",      # handling of the phone, knocks on the bench
    "clank",       # a tool dropped: free-bar modes, decaying
    "music",       # radio: bass/lead notes with slow attacks, drums
    "scuff",       # finger rubs and stops, nothing released
)


# ----------------------------------------------------------------- small helpers
class Rng:
    """Draws from one named stream; only random.Random.random() is used."""

    def __init__(self, seed, name):
        self._r = random.Random("plucks/%d/%s/%s" % (VERSION, seed, name)).random

    def u(self, lo=0.0, hi=1.0):
        return lo + (hi - lo) * self._r()

    def log(self, lo, hi):
        return lo * (hi / lo) ** self._r()

    def chance(self, p):
        return self._r() < p

    def pick(self, seq):
        return seq[int(self._r() * len(seq))]

    def sign(self):
        return 1.0 if self._r() < 0.5 else -1.0

    def normal(self):
        return math.sqrt(-2.0 * math.log(1.0 - self._r())) * math.cos(2 * math.pi * self._r())

    def white(self, n):
        r, out = self._r, []
        log, sqrt, cos, sin, tp = math.log, math.sqrt, math.cos, math.sin, 2 * math.pi
        for _ in range((n + 1) // 2):
            m = sqrt(-2.0 * log(1.0 - r()))
            a = tp * r()
            out.append(m * cos(a))
            out.append(m * sin(a))
        return out[:n]


def biquad(kind, fs, f, q):
    w = 2 * math.pi * f / fs
    c, s = math.cos(w), math.sin(w)
    al = s / (2 * q)
    if kind == "hp":
        b = ((1 + c) / 2, -(1 + c), (1 + c) / 2)
    elif kind == "lp":
        b = ((1 - c) / 2, 1 - c, (1 - c) / 2)
    else:  # band-pass, 0 dB peak
        b = (al, 0.0, -al)
    a0 = 1 + al
    return (b[0] / a0, b[1] / a0, b[2] / a0, -2 * c / a0, (1 - al) / a0)


def onepole_hp(fs, f):
    k = math.tan(math.pi * f / fs)
    a0 = 1 + k
    return (1 / a0, -1 / a0, 0.0, (k - 1) / a0, 0.0)


def run(sections, x):
    for b0, b1, b2, a1, a2 in sections:
        y, x1, x2, y1, y2 = [], 0.0, 0.0, 0.0, 0.0
        ap = y.append
        for v in x:
            o = b0 * v + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2
            ap(o)
            x2, x1, y2, y1 = x1, v, y1, o
        x = y
    return x


def response(sections, fs, f):
    w = 2 * math.pi * f / fs
    z1 = complex(math.cos(w), -math.sin(w))
    h = 1.0 + 0j
    for b0, b1, b2, a1, a2 in sections:
        h *= (b0 + b1 * z1 + b2 * z1 * z1) / (1 + a1 * z1 + a2 * z1 * z1)
    return h


def add(dst, src, gain=1.0, at=0):
    n = min(len(src), len(dst) - at)
    for i in range(max(0, -at), n):
        dst[at + i] += gain * src[i]


def power(x, lo=0, hi=None):
    seg = x[lo:hi]
    return sum(v * v for v in seg) / max(1, len(seg))


def damped(y, fs, t0, t1, f, tau, amp, phase=0.0, glide=0.0, gtau=1.0):
    """Add amp e^{-t/tau} sin(2 pi f t + phase) from t0 to at most t1 (seconds)."""
    i0 = int(math.ceil(t0 * fs))
    i1 = min(len(y), int(t1 * fs), i0 + int(tau * 11.5 * fs) + 1)
    block = 32
    t = i0 / fs - t0
    re = amp * math.exp(-t / tau) * math.cos(2 * math.pi * f * t + phase)
    im = amp * math.exp(-t / tau) * math.sin(2 * math.pi * f * t + phase)
    d = math.exp(-1.0 / (tau * fs))
    i = i0
    while i < i1:
        tm = (i + block / 2) / fs - t0
        w = 2 * math.pi * f * (1 + glide * math.exp(-2 * tm / gtau)) / fs
        cr, ci = d * math.cos(w), d * math.sin(w)
        for j in range(i, min(i + block, i1)):
            y[j] += im
            re, im = re * cr - im * ci, re * ci + im * cr
        i += block


# ------------------------------------------------------------------- belt & pluck
def draw_belt(rng, f1=None, f_range=(18.0, 350.0)):
    drawn = rng.log(*f_range)                     # always drawn: keeps the stream aligned
    f1 = drawn if f1 is None else f1
    b = rng.log(3e-4, 3e-2) if rng.chance(0.9) else rng.u(0.03, 0.06)
    c = rng.log(25.0, 110.0)                     # transverse wave speed, m/s
    length = min(1.6, max(0.09, c / (2 * f1)))
    q1 = rng.log(8.0, 60.0)
    t40 = min(1.0, max(0.1, 4.6 * q1 / (math.pi * f1)))   # time to -40 dB
    t40 = max(t40, 4.6 * 8.0 / (math.pi * f1))
    return {
        "f1": f1, "B": b, "f0": f1 / math.sqrt(1 + b), "length_m": length,
        "tau1": t40 / 4.6, "c1": rng.u(0.03, 0.5), "c2": rng.u(0.0, 0.06),
        "pol_amp": rng.u(0.0, 0.35), "pol_detune": rng.sign() * rng.u(0.0, 0.008),
        "pol_tau": rng.u(0.6, 1.3), "glide": rng.u(0.0, 0.01) * (1 if rng.chance(0.6) else 0.2),
        "span2_ratio": rng.log(0.45, 2.2), "span2_amp": rng.log(0.01, 0.2) if rng.chance(0.3) else 0.0,
        "frame": [(rng.log(120.0, 900.0), rng.u(0.008, 0.04), rng.log(0.03, 0.25))
                  for _ in range(int(rng.u(0, 3.999)))],
    }


def mode_freq(belt, n):
    return n * belt["f0"] * math.sqrt(1 + belt["B"] * n * n)


def draw_phone(rng, belt):
    return {
        "q": rng.u(0.2, 0.55), "r": rng.log(0.02, 0.15),
        "ripple": [10 ** (rng.normal() * 2.0 / 20) for _ in range(24)],
    }


def draw_pluck(rng):
    tap = rng.chance(0.25)
    return {
        "style": "tap" if tap else "finger",
        "p": rng.u(0.12, 0.5), "width": rng.u(0.015, 0.06), "contact_s": rng.u(0.001, 0.006),
        "level": 10 ** (rng.u(-5, 5) / 20), "click": rng.log(0.02, 0.3) if rng.chance(0.6) else 0.0,
        "scuff": rng.log(0.01, 0.12) if rng.chance(0.5) else 0.0, "shift": rng.normal() * 0.0008,
        "phase": rng.sign(),
    }


def modes_of(belt, phone, pluck, fs):
    """[(n, f_n, relative amplitude before the microphone, tau_n)], strongest = 1."""
    out = []
    for n in range(1, 25):
        f = mode_freq(belt, n)
        if f > 0.42 * fs or f > 3000:
            break
        shape = math.sin(n * math.pi * pluck["p"])
        rel = f / belt["f1"]
        if pluck["style"] == "finger":
            disp = shape / (n * n) * math.exp(-0.5 * (n * math.pi * pluck["width"]) ** 2)
        else:
            x = f * pluck["contact_s"]
            den = 1 - 4 * x * x
            pulse = math.cos(math.pi * x) / den if abs(den) > 1e-6 else math.pi / 4
            disp = shape / rel * pulse
        k_r = 2 * math.pi * f / 343.0 * phone["r"]
        seen = math.sin(n * math.pi * phone["q"]) * math.exp(-n * math.pi * phone["r"] / belt["length_m"])
        amp = disp * rel * rel * math.sqrt(1 + k_r * k_r) * seen * phone["ripple"][n - 1]
        tau = belt["tau1"] / (1 + belt["c1"] * (rel - 1) + belt["c2"] * (rel * rel - 1))
        out.append((n, f, amp, tau))
    top = max(abs(a) for _, _, a, _ in out) or 1.0
    return [(n, f, a / top, t) for n, f, a, t in out]


def render_pluck(n, fs, t0, t1, belt, phone, pluck, rng):
    y = [0.0] * n
    shift = 1 + pluck["shift"]
    level = pluck["level"] * pluck["phase"]
    for k, f, amp, tau in modes_of(belt, phone, pluck, fs):
        if abs(amp) < 2e-4:
            continue
        a = amp * level
        g = belt["glide"] * pluck["level"]
        ph = math.pi / 2 if pluck["style"] == "finger" else 0.0
        damped(y, fs, t0, t1, f * shift, tau, a, ph, g, belt["tau1"])
        if belt["pol_amp"] > 0.01:
            damped(y, fs, t0, t1, f * shift * (1 + belt["pol_detune"]), tau * belt["pol_tau"],
                   a * belt["pol_amp"], ph + 0.6)
    if belt["span2_amp"]:
        b2 = dict(belt, f1=belt["f1"] * belt["span2_ratio"], f0=belt["f0"] * belt["span2_ratio"])
        ph2 = dict(phone, q=0.31)
        for k, f, amp, tau in modes_of(b2, ph2, pluck, fs)[:6]:
            damped(y, fs, t0, t1, f, tau, amp * level * belt["span2_amp"], 0.3 * k)
    for f, tau, amp in belt["frame"]:
        damped(y, fs, t0, t1, f, tau, amp * pluck["level"], 1.0)
    i0 = int(t0 * fs)
    if pluck["click"]:
        m = int(0.012 * fs)
        c = rng.white(m)
        add(y, [v * math.exp(-i / (0.003 * fs)) for i, v in enumerate(c)], pluck["click"] * pluck["level"] * 0.5, i0)
    if pluck["scuff"]:
        m = int(rng.u(0.05, 0.15) * fs)
        c = run([biquad("bp", fs, rng.log(80, 900), 0.7)], rng.white(m))
        add(y, [v * math.sin(math.pi * i / m) for i, v in enumerate(c)],
            pluck["scuff"] * pluck["level"], max(0, i0 - m - int(0.01 * fs)))
    # a span stopped by the finger goes quiet in some ms
    stop = int(t1 * fs)
    fade = int(0.015 * fs)
    for i in range(max(0, stop - fade), min(n, stop)):
        y[i] *= (stop - i) / fade
    for i in range(min(n, stop), n):
        y[i] = 0.0
    return y


# ------------------------------------------------------------------------- noises
def _pink(rng, n, fs):
    y = rng.white(n)
    p = 4.0
    while p < fs / 4:                             # pole/zero ladder: -10 dB a decade
        a, b = math.exp(-2 * math.pi * p / fs), math.exp(-2 * math.pi * 2 * p / fs)
        out, y1, x1 = [], 0.0, 0.0
        for v in y:
            y1 = v - b * x1 + a * y1
            x1 = v
            out.append(y1)
        y = out
        p *= 4
    return y


def _brown(rng, n, fs):
    a = math.exp(-2 * math.pi * 12.0 / fs)
    out, s = [], 0.0
    for v in rng.white(n):
        s = a * s + v
        out.append(s)
    return out


def _tones(n, fs, f, amps, phases, wobble=None):
    y = [0.0] * n
    for k, (a, ph) in enumerate(zip(amps, phases), 1):
        if a == 0 or k * f > 0.45 * fs:
            continue
        re, im = a * math.cos(ph), a * math.sin(ph)
        i = 0
        while i < n:
            ff = f * (1 + (wobble[i // 256] if wobble else 0.0))
            w = 2 * math.pi * k * ff / fs
            cr, ci = math.cos(w), math.sin(w)
            for j in range(i, min(n, i + 256)):
                y[j] += im
                re, im = re * cr - im * ci, re * ci + im * cr
            i += 256
    return y


def _wobble(rng, n, size, rate):
    out, v = [], 0.0
    for _ in range(n // 256 + 1):
        v += rate * (rng.normal() * size - v)
        out.append(v)
    return out


def _hum(rng, n, fs, mains):
    f = mains + rng.u(-0.05, 0.05)
    even = rng.chance(0.5)                        # a transformer hums at 2x mains
    amps = []
    for k in range(1, 21):
        a = 10 ** (rng.normal() * 6 / 20) / k ** rng.u(0.5, 1.3)
        amps.append(a * (2.0 if (k % 2 == 0) == even else 0.5))
    return _tones(n, fs, f, amps, [rng.u(0, 2 * math.pi) for _ in amps])


def _fan(rng, n, fs):
    f = rng.log(45, 380)
    amps = [1.0] + [10 ** (-rng.u(3, 20) / 20) for _ in range(3)]
    y = _tones(n, fs, f, amps, [rng.u(0, 6.28) for _ in amps], _wobble(rng, n, 0.004, 0.15))
    p0 = power(y)
    b = run([biquad("bp", fs, rng.log(120, 900), 0.5)], rng.white(n))
    add(y, b, math.sqrt(p0 / (power(b) or 1)) * rng.u(0.4, 1.5))
    return y


def _compressor(rng, n, fs):
    f = rng.log(8, 30)
    amps = [10 ** (rng.normal() * 5 / 20) / k ** 0.5 for k in range(1, 13)]
    y = _tones(n, fs, f, amps, [rng.u(0, 6.28) for _ in amps], _wobble(rng, n, 0.003, 0.1))
    p0 = power(y)
    b = run([biquad("bp", fs, rng.log(150, 1200), 0.6)], rng.white(n))
    ph = rng.u(0, 6.28)
    depth = rng.u(0.3, 0.95)
    b = [v * (1 - depth + depth * (0.5 + 0.5 * math.sin(2 * math.pi * f * i / fs + ph)) ** 3)
         for i, v in enumerate(b)]
    add(y, b, math.sqrt(p0 / (power(b) or 1)) * rng.u(0.3, 1.2))
    return y


def _voice(rng, n, fs):
    y = [0.0] * n
    t = -rng.u(0, 0.3)
    base = rng.log(85, 240)
    while t < n / fs:
        dur = rng.u(0.08, 0.28)
        m = int(dur * fs)
        if rng.chance(0.75):                      # voiced: glottal pulses -> formants
            f, slope = base * rng.u(0.85, 1.2), rng.u(-0.25, 0.12) / dur
            src, phase = [], 0.0
            for i in range(m):
                phase += f * (1 + slope * i / fs) * (1 + 0.01 * rng.normal()) / fs
                if phase >= 1:
                    phase -= 1
                src.append(-1.0 if phase < 1.0 / 12 else 1.0 / 11)
            f1, f2, f3 = rng.u(280, 800), rng.u(900, 2200), rng.u(2300, 2900)
            s = [0.0] * m
            for ff, g, q in ((f1, 1.0, 5), (f2, 0.4, 9), (f3, 0.2, 12)):
                add(s, run([biquad("bp", fs, min(ff, 0.4 * fs), q)], src), g)
            add(s, run([biquad("lp", fs, 400, 0.7)], src), 0.15)
        else:
            s = run([biquad("bp", fs, min(0.4 * fs, rng.u(1800, 3000)), 1.0)], rng.white(m))
            s = [0.2 * v for v in s]
        s = [v * math.sin(math.pi * (i + 0.5) / m) ** 0.6 for i, v in enumerate(s)]
        add(y, s, rng.u(0.4, 1.0), int(t * fs)) if t >= 0 else None
        t += dur + (rng.u(0.15, 0.45) if rng.chance(0.2) else rng.u(0.0, 0.05))
    if power(y) == 0:
        y[n // 2] = 1e-6
    return y


def _thump(rng, fs):
    """One handling thump: an over-damped low resonance and a click."""
    m = int(0.35 * fs)
    y = [0.0] * m
    for _ in range(2):
        f = rng.log(22, 130)
        damped(y, fs, 0.0, 0.35, f, rng.u(0.7, 2.4) / (math.pi * f), rng.u(0.3, 1.0), rng.u(0, 6.28))
    c = rng.white(int(0.02 * fs))
    add(y, [v * math.exp(-i / (0.004 * fs)) for i, v in enumerate(c)], rng.log(0.03, 0.5))
    top = max(abs(v) for v in y)
    return [v / top for v in y]


def _clank(rng, fs):
    """A dropped tool: free-bar partials 1 : 2.756 : 5.404 : 8.933, some bounces."""
    m = int(1.0 * fs)
    y = [0.0] * m
    f = rng.log(150, 900)
    t = 0.0
    gain = 1.0
    for _ in range(int(rng.u(1, 4.999))):
        for ratio in (1.0, 2.756, 5.404, 8.933):
            if f * ratio < 0.45 * fs:
                damped(y, fs, t, 1.0, f * ratio * rng.u(0.99, 1.01), rng.u(0.02, 0.15) / ratio ** 0.5,
                       gain * rng.u(0.2, 1.0), rng.u(0, 6.28))
        t += rng.u(0.06, 0.25)
        gain *= rng.u(0.3, 0.8)
    top = max(abs(v) for v in y)
    return [v / top for v in y]


def _music(rng, n, fs):
    y = [0.0] * n
    root = rng.log(55, 160)
    beat = rng.u(0.2, 0.5)
    t = rng.u(-0.2, 0.1)
    scale = (0, 2, 3, 5, 7, 8, 10, 12)
    while t < n / fs:
        f = root * 2 ** (rng.pick(scale) / 12.0)
        m = int(beat * rng.u(0.7, 1.1) * fs)
        amps = [1.0 / k ** rng.u(0.8, 1.6) for k in range(1, 9)]
        s = _tones(m, fs, f, amps, [rng.u(0, 6.28) for _ in amps])
        att = rng.u(0.015, 0.06) * fs
        s = [v * min(1.0, i / att) * math.exp(-i / (fs * 0.5)) * min(1.0, (m - i) / (0.03 * fs)) for i, v in enumerate(s)]
        if t >= 0:
            add(y, s, rng.u(0.5, 1.0), int(t * fs))
            if rng.chance(0.5):
                c = rng.white(int(0.08 * fs))
                add(y, [v * math.exp(-i / (0.02 * fs)) for i, v in enumerate(c)], 0.5, int(t * fs))
        t += beat
    return y


def make_noise(kind, rng, n, fs):
    """Unit-power noise before the microphone filter."""
    if kind == "pink":
        y = _pink(rng, n, fs)
    elif kind == "brown":
        y = _brown(rng, n, fs)
    elif kind in ("hum50", "hum60"):
        y = _hum(rng, n, fs, 50.0 if kind == "hum50" else 60.0)
        add(y, _pink(rng, n, fs), math.sqrt(power(y)) * 0.05)
    elif kind == "fan":
        y = _fan(rng, n, fs)
    elif kind == "compressor":
        y = _compressor(rng, n, fs)
    elif kind == "voice":
        y = _voice(rng, n, fs)
        add(y, _pink(rng, n, fs), math.sqrt(power(y)) * 0.02)
    elif kind == "music":
        y = _music(rng, n, fs)
        add(y, _pink(rng, n, fs), math.sqrt(power(y)) * 0.02)
    elif kind == "mix":
        y = [0.0] * n
        mains = rng.pick(("hum50", "hum60"))
        for k in ("pink", mains, rng.pick(("fan", "compressor", "voice"))):
            z = make_noise(k, rng, n, fs)
            add(y, z, rng.u(0.3, 1.0))
    else:
        raise ValueError(kind)
    s = 1.0 / math.sqrt(power(y) or 1.0)
    return [v * s for v in y]


# --------------------------------------------------------------------- microphone
def draw_mic(rng):
    order = rng.pick((1, 2, 2, 3))
    return {
        "order": order, "corner": rng.u(60.0, 120.0), "q": rng.u(0.6, 0.9), "dc": rng.u(5.0, 20.0),
        "agc": rng.chance(0.3), "agc_ratio": rng.u(1.5, 3.5), "agc_attack": rng.log(0.004, 0.04),
        "agc_release": rng.log(0.15, 1.2),
        "peak_dbfs": rng.u(2.0, 8.0) if rng.chance(0.12) else -rng.u(1.0, 30.0),
    }


def mic_sections(mic, fs):
    s = [onepole_hp(fs, mic["dc"])]
    if mic["order"] in (1, 3):
        s.append(onepole_hp(fs, mic["corner"]))
    if mic["order"] in (2, 3):
        s.append(biquad("hp", fs, mic["corner"], mic["q"]))
    return s


def agc(mic, x, fs):
    top = max(abs(v) for v in x) or 1.0
    thr = 0.15 * top
    at, rl = math.exp(-1 / (mic["agc_attack"] * fs)), math.exp(-1 / (mic["agc_release"] * fs))
    e, out, expo = 0.0, [], 1.0 / mic["agc_ratio"] - 1.0
    for v in x:
        a = abs(v)
        e = a + (at if a > e else rl) * (e - a)
        out.append(v * (e / thr) ** expo if e > thr else v)
    return out


def _band(fs):
    return [biquad("hp", fs, 15.0, 0.7), biquad("lp", fs, 1000.0, 0.54), biquad("lp", fs, 1000.0, 1.31)]


def to_int16(x, peak_dbfs):
    top = max(abs(v) for v in x) or 1.0
    g = 32767.0 * 10 ** (peak_dbfs / 20.0) / top
    clipped = 0
    out = array("h")
    for v in x:
        i = int(round(v * g))
        if i > 32767 or i < -32768:
            clipped += 1
            i = 32767 if i > 0 else -32768
        out.append(i)
    return out, clipped


# ------------------------------------------------------------------------- a take
class Take:
    def __init__(self, fs, samples, meta, parts=None):
        self.fs, self.samples, self.meta, self.parts = fs, samples, meta, parts

    def crc(self):
        s = self.samples
        if array("h", [1]).tobytes()[0] != 1:      # big-endian host
            s = array("h", s)
            s.byteswap()
        return zlib.crc32(s.tobytes()) & 0xFFFFFFFF

    def wav_bytes(self):
        import io
        import wave
        f = io.BytesIO()
        w = wave.open(f, "wb")
        w.setnchannels(1)
        w.setsampwidth(2)
        w.setframerate(self.fs)
        w.writeframes(self.samples.tobytes())
        w.close()
        return f.getvalue()


def _prior(rng, f1):
    """Range a user's data would give: nominal span and tension, wide tension window."""
    r = rng.u(-0.45, 0.55)                        # log2 of actual/nominal frequency
    nominal = f1 * 2 ** (-r)
    return [nominal * 0.55, nominal * 1.65]       # tension 0.3 .. 2.7 of nominal


def make_take(seed, kind="pluck", snr_db=None, f1=None, fs=8000, noise=None, negative=None,
              duration=None, thumps=None, parts=False, belt=None, mic=None, pluck=None):
    """One take.  ``belt``, ``mic``, ``pluck``: dicts overriding single drawn values."""
    r_top, r_belt, r_mic, r_noise, r_thump = (Rng(seed, s) for s in ("top", "belt", "mic", "noise", "thump"))
    snr = r_top.u(-6.0, 20.0)
    snr = snr if snr_db is None else float(snr_db)
    noise_kind = r_top.pick(NOISES)
    noise_kind = noise if noise else noise_kind
    neg_kind = r_top.pick(NEGATIVES)
    neg_kind = negative if negative else neg_kind
    n_plucks = int(r_top.u(3, 5.999))
    n_thumps = int(r_top.u(1, 2.999)) if r_top.chance(0.2) else 0
    n_thumps = n_thumps if thumps is None else thumps
    electric = r_top.chance(0.5)                  # hum picked up after the microphone
    micd = draw_mic(r_mic)
    micd.update(mic or {})
    sections = mic_sections(micd, fs)
    if kind == "negative":
        return _negative(seed, neg_kind, fs, duration or 1.8, micd, sections, r_noise, r_top, r_thump, parts)

    beltd = draw_belt(r_belt, f1)
    beltd.update(belt or {})
    if belt and ("f1" in belt or "B" in belt):
        beltd["f0"] = beltd["f1"] / math.sqrt(1 + beltd["B"])
    phone = draw_phone(Rng(seed, "phone"), beltd)
    onsets, t = [], r_top.u(0.35, 0.7)
    count = n_plucks if kind == "multi" else 1
    for _ in range(count):
        onsets.append(t)
        t += r_top.u(0.7, 1.3)
    duration = duration or (1.8 if count == 1 else onsets[-1] + 1.1)
    n = int(duration * fs)

    clean, plucks, sig_p = [0.0] * n, [], []
    band = _band(fs)
    for j, t0 in enumerate(onsets):
        rp = Rng(seed, "pluck%d" % j)
        pl = draw_pluck(rp)
        pl.update(pluck or {})
        t1 = onsets[j + 1] - rp.u(0.03, 0.1) if j + 1 < count else duration
        y = run(sections, render_pluck(n, fs, t0, t1, beltd, phone, pl, rp))
        i0 = int(t0 * fs)
        sig_p.append(power(run(band, y), i0, i0 + int(0.25 * fs)))
        add(clean, y)
        plucks.append(pl)
    ref_p = sorted(sig_p)[len(sig_p) // 2]

    raw = make_noise(noise_kind, r_noise, n, fs)
    nz = raw if (electric and noise_kind.startswith("hum")) else run(sections, raw)
    nz_p = power(run(band, nz))
    g = math.sqrt(ref_p / (nz_p or 1.0) * 10 ** (-snr / 10.0))
    nz = [v * g for v in nz]
    peak = max(abs(v) for v in clean)
    thump_at = []
    for _ in range(n_thumps):
        at = r_thump.u(0.02, duration - 0.1)
        thump_at.append(at)
        add(nz, run(sections, _thump(r_thump, fs)), peak * r_thump.log(0.15, 1.5), int(at * fs))
    x = [a + b for a, b in zip(clean, nz)]
    if micd["agc"]:
        x = agc(micd, x, fs)
    samples, clipped = to_int16(x, micd["peak_dbfs"])

    seen = []
    for k, f, a, tau in modes_of(beltd, phone, plucks[0], fs):
        seen.append([k, f, abs(a) * plucks[0]["level"] * abs(response(sections, fs, f)), tau])
    top = max(s[2] for s in seen) or 1.0
    meta = {
        "seed": seed, "version": VERSION, "kind": kind, "fs": fs, "duration": duration,
        "f1": beltd["f1"], "B": beltd["B"], "snr_db": snr, "noise": noise_kind,
        "onsets": onsets, "prior": _prior(Rng(seed, "prior"), beltd["f1"]),
        "belt": beltd, "mic": micd, "phone": {"q": phone["q"], "r": phone["r"]}, "plucks": plucks,
        "thumps": thump_at, "clipped": clipped,
        "f1_rel_db": 20 * math.log10(max(1e-9, seen[0][2] / top)),   # mode 1 against the strongest
        "modes": [[k, f, a, tau] for k, f, a, tau in seen],
    }
    return Take(fs, samples, meta, {"clean": clean, "noise": nz} if parts else None)


def _negative(seed, kind, fs, duration, micd, sections, rng, r_top, r_thump, parts):
    n = int(duration * fs)
    base_kind = {"hum": rng.pick(("hum50", "hum60")), "fan": "fan", "compressor": "compressor",
                 "voice": "voice", "music": "music", "pink": "pink"}.get(kind)
    floor = _pink(rng, n, fs)
    s = math.sqrt(power(floor))
    floor = [v / s for v in floor]
    if base_kind:
        y = make_noise(base_kind, rng, n, fs)
        add(y, floor, 0.03)
    else:
        lvl = rng.log(0.02, 0.4)
        y = [v * lvl for v in floor]
        if kind == "hum_on":
            z = make_noise(rng.pick(("hum50", "hum60", "fan")), rng, n, fs)
            at, ramp = int(rng.u(0.3, 1.0) * fs), rng.log(0.003, 0.3) * fs
            up = rng.chance(0.7)
            z = [v * min(1.0, max(0.0, (i - at) / ramp if up else 1 - (i - at) / ramp)) for i, v in enumerate(z)]
            add(y, z)
        elif kind == "thumps":
            for _ in range(int(rng.u(1, 4.999))):
                add(y, _thump(rng, fs), rng.log(0.5, 3.0) * rng.sign(), int(rng.u(0.1, duration - 0.3) * fs))
        elif kind == "clank":
            add(y, _clank(rng, fs), rng.log(0.5, 3.0), int(rng.u(0.2, 0.9) * fs))
        elif kind == "scuff":
            for _ in range(int(rng.u(1, 3.999))):
                m = int(rng.u(0.05, 0.3) * fs)
                c = run([biquad("bp", fs, rng.log(60, 900), rng.u(0.4, 1.2))], rng.white(m))
                e = rng.u(0.3, 3.0)
                c = [v * (1 - i / m) ** e * min(1.0, i / (0.01 * fs)) for i, v in enumerate(c)]
                add(y, c, rng.log(0.3, 2.0), int(rng.u(0.1, duration - 0.3) * fs))
        else:
            raise ValueError(kind)
    x = run(sections, y)
    if r_thump.chance(0.15) and kind != "thumps":
        add(x, run(sections, _thump(r_thump, fs)), max(abs(v) for v in x) * r_thump.log(0.3, 2.0),
            int(r_thump.u(0.1, duration - 0.3) * fs))
    if micd["agc"]:
        x = agc(micd, x, fs)
    samples, clipped = to_int16(x, micd["peak_dbfs"])
    ghost = Rng(seed, "belt").log(18.0, 350.0)
    meta = {"seed": seed, "version": VERSION, "kind": "negative", "negative": kind, "fs": fs, "duration": duration,
            "f1": None, "prior": _prior(Rng(seed, "prior"), ghost), "mic": micd, "onsets": [], "clipped": clipped}
    return Take(fs, samples, meta, {"noise": x} if parts else None)


# --------------------------------------------------------------------- named sets
SETS = {"tune": 1000000, "heldout": 2000000}
SNRS = (-6, 0, 6, 12, 20)


def specs(name, singles=750, multis=150, negatives=400):
    """The keyword arguments of every take of a named set, in order."""
    base = SETS[name]
    out = []
    for i in range(singles):
        lo, hi = math.log(18.0), math.log(350.0)
        f = math.exp(lo + (hi - lo) * ((i // len(SNRS)) + Rng(base + i, "grid").u()) / (singles / len(SNRS)))
        out.append({"seed": base + i, "kind": "pluck", "snr_db": SNRS[i % len(SNRS)], "f1": min(350.0, f)})
    for i in range(multis):
        out.append({"seed": base + 100000 + i, "kind": "multi", "snr_db": SNRS[i % len(SNRS)]})
    for i in range(negatives):
        out.append({"seed": base + 200000 + i, "kind": "negative", "negative": NEGATIVES[i % len(NEGATIVES)]})
    return out
