"""Sounds for the invented workshop: a belt span plucked near a phone's microphone, as WAV files.

Nothing here was recorded. The span is a stiff string that is let go from a displaced point (textbook physics: mode n at
n f √(1 + B n²), its share sin(n π p) / n²), heard by its acceleration, with each mode dying away as an exponential, the higher the
faster. How stiff, how fast and how noisy is invented.
"""

import array
import math
import random
import sys

from webapp import sounds

RATE = 8000
SECONDS = 2
# Let go here and heard here, as shares of the span; silence before it [s].
PLUCKED, HEARD = 0.42, 0.31
BEFORE = 0.3
MODES = 7
STIFFNESS = 0.0012
# Time constant of the first mode [s], and how much faster each further one dies away.
DYING, FASTER = 0.22, 0.55
# Loudest sample and the noise beside it, of full scale.
LOUD, NOISE = 0.5, 0.004


def pluck(seed: int, hz: float) -> bytes:
    """One pluck of a span whose first mode is at `hz`. The same seed gives the same sound."""
    rng = random.Random(seed)
    start = int(BEFORE * RATE)
    heard = [0.0] * (SECONDS * RATE)
    for n in range(1, MODES + 1):
        pitch = n * hz * math.sqrt((1 + STIFFNESS * n * n) / (1 + STIFFNESS))
        # Acceleration is the displacement times the square of the pitch, which takes the n² away.
        size = math.sin(n * math.pi * PLUCKED) * math.sin(n * math.pi * HEARD)
        turn, fade = 2 * math.pi * pitch / RATE, math.exp(-(1 + FASTER * (n - 1)) / (DYING * RATE))
        for i in range(len(heard) - start):
            heard[start + i] += size * math.cos(turn * i)
            size *= fade
    scale = LOUD / max(abs(value) for value in heard)
    return _wav([value * scale + NOISE * rng.uniform(-1, 1) for value in heard])


def _wav(samples):
    """16-bit samples in one channel, as `webapp.sounds` admits them."""
    body = array.array("h", [round(32767 * value) for value in samples])
    if sys.byteorder == "big":
        body.byteswap()
    size = 2 * len(body)
    head = sounds.HEADER.pack(b"RIFF", size + sounds.HEADER.size - 8, b"WAVE", b"fmt ", 16, 1, 1, RATE, 2 * RATE, 2, 16, b"data", size)
    return head + body.tobytes()
