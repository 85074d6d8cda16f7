"""Sounds kept with a reading, named by the SHA-256 of their bytes and stored unchanged: short WAV files of one kind only."""

import struct

from . import attached
from .core.errors import CoreError

# One channel of 16-bit samples at 8,000 to 16,000 a second: pages leave samples out down to the lowest rate from 8,000 that
# divides the microphone's own.
RATES = (8000, 16000)
MOST_SECONDS = 3
HEADER = struct.Struct("<4sI4s4sIHHIIHH4sI")
MAX_BYTES = HEADER.size + 2 * RATES[1] * MOST_SECONDS


def check(body: bytes):
    """Refuse bytes that are not just such a WAV file; CoreError says why.

    Source:  Multimedia Programming Interface and Data Specifications 1.0 (1991), the WAVE form of RIFF with PCM samples
    """
    if len(body) > MAX_BYTES:
        raise _too_long()
    if len(body) <= HEADER.size:
        raise CoreError("sound-kind", "sound")
    riff, rest, wave, fmt, size, form, channels, rate, pace, frame, bits, data, length = HEADER.unpack_from(body)
    if (riff, wave, fmt, size, form, channels, frame, bits, data) != (b"RIFF", b"WAVE", b"fmt ", 16, 1, 1, 2, 16, b"data"):
        raise CoreError("sound-kind", "sound")
    # Nothing may stand behind the samples: other pieces of such a file can tell names and places.
    if not RATES[0] <= rate <= RATES[1] or pace != 2 * rate or length % 2 or length != len(body) - HEADER.size or rest != len(body) - 8:
        raise CoreError("sound-kind", "sound")
    if length > 2 * rate * MOST_SECONDS:
        raise _too_long()


def _too_long():
    return CoreError("sound-large", "sound", {"most": f"{MOST_SECONDS} seconds"})


STORE = attached.Store("sounds", "sound", ".wav", "audio/wav", check)
blueprint = STORE.blueprint
