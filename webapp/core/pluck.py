"""Hear a plucked span: the first frequency with its interval from a short sound, or the reason why there is no answer.

The span is a stiff string struck once.  A release is a sudden set of new lines (`releases`); the lines after it (`lines`) are
explained by strings (`partials`, `envelope`); the best string answers when nothing else explains them nearly as well.
"""

import math

from . import lines
from . import spectrum
from . import survey
from .errors import CoreError

LOWEST_RATE = 8000
HIGHEST_RATE = 96000
LONGEST_S = 20.0
_SHORTEST_S = 0.8
# An integer sample of a 16-bit recorder.
_FULL_SCALE = 32768
_SILENT = 3.0e-4
_CLIPPED = 0.9995
_CLIPPED_SHARE = 0.005
# A rival closer than this, and evidence below this, are reasons not to answer (log).
_NEARLY = 1.0
_HARDLY = 0.0
# Plucks pull the pitch up while the swing is large: the median excess on synthetic takes [share]; and of the fall that is seen within
# 75 ms so much is still to come.
_PULLED = 0.0007
_TO_COME = 0.3
_MOST_FALL = 0.02
# Half the interval [sigmas]: measured on the set "tune".
_INTERVAL = 1.9
# Two logistic models, fitted as `survey.RANKS` was but with hard cases among the takes: "the right string" (within 3 %), and "close
# enough if it is the right one" (within 1 %); and what their product has to reach to answer.
_SURE = 0.86
_RIGHT = (-0.785, 0.945, -0.013, 0.104, -0.880, 0.038, 0.067, -0.068, 0.500, -0.025, 0.022, 0.167, 0.462, 0.103, 0.375, -0.036, -0.195,
          1.827, -0.586, -1.055, 0.101, -0.268, -0.258, 2.591, -0.243, -0.233, 0.047, 2.679, -1.582, 0.380, -0.146, 0.118, -3.264, -1.872,
          0.088, 0.315, -0.595, -0.270, 0.812, 0.205, -0.458, -0.228)
_CLOSE = (1.475, 1.801, 0.150, -0.330, -0.070, 0.029, -0.048, 0.005, 0.512, 0.012, 0.133, 0.773, -0.319, -0.229, -0.040, 0.091, -0.061,
          -0.685, 0.912, 0.450, 0.582, 0.059, -0.127, 0.226, -0.037, 0.173, -0.135, -0.825, 1.202, 0.027, -0.351, -1.152, -1.516, 0.394,
          -0.026, 0.101, -0.476, -0.533, -2.333, -0.020, -2.087, -0.036)


def _checked(samples, rate, band_hz):
    """Return (the samples as floats from -1 to 1, band as two floats or None)."""
    if isinstance(rate, bool) or not isinstance(rate, (int, float)) or not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise CoreError("out-of-range", "rate", {"low": str(LOWEST_RATE), "high": str(HIGHEST_RATE)})
    if not isinstance(samples, (list, tuple)):
        raise CoreError("not-a-list", "samples")
    if len(samples) > LONGEST_S * rate:
        raise CoreError("too-many", "samples", {"most": str(int(LONGEST_S * rate))})
    peak = 0
    for value in samples:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not -_FULL_SCALE <= value <= _FULL_SCALE:
            raise CoreError("out-of-range", "samples", {"low": "-1", "high": "1"})
        peak = max(peak, abs(value))
    scale = 1 / _FULL_SCALE if peak > 1 else 1.0
    return [value * scale for value in samples], _band(band_hz)


def _band(band_hz):
    if band_hz is None:
        return None
    if not isinstance(band_hz, (list, tuple)) or len(band_hz) != 2:
        raise CoreError("not-a-list", "band_hz")
    for value in band_hz:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not 1 <= value <= 5000:
            raise CoreError("out-of-range", "band_hz", {"low": "1", "high": "5000"})
    if band_hz[0] >= band_hz[1]:
        raise CoreError("out-of-order", "band_hz")
    return [float(band_hz[0]), float(band_hz[1])]


def _loudness(samples):
    """Return (root mean square, largest, share of samples at full scale)."""
    square = 0.0
    largest = 0.0
    clipped = 0
    for value in samples:
        square += value * value
        if value > largest or -value > largest:
            largest = abs(value)
            if largest >= _CLIPPED:
                clipped += 1
        elif value >= _CLIPPED or value <= -_CLIPPED:
            clipped += 1
    count = max(1, len(samples))
    return math.sqrt(square / count), largest, clipped / count


def _why(best, rival, lead, clipped):
    """Return the reason not to answer, the most useful one to whoever holds the phone first."""
    if clipped > _CLIPPED_SHARE:
        return "clipped"
    if best[5] < _HARDLY:
        return "nothing"
    if rival and lead < _NEARLY:
        return "two-answers"
    return "noisy"


def listen(samples: list, rate: float, band_hz: list = None) -> dict:
    """Return the first frequency of a plucked span as it was heard, or the reason why there is none.

    Parameters:  samples: floats from -1 to 1, or 16-bit integers; 1 to 3 s of sound, at most 20 s · rate: their rate, 8000 to 96000; 8000
                 is enough and quickest [Hz] · band_hz: (low, high) expected from the drive [Hz], or None; it only weighs: a string outside
                 answers too when the sound speaks for it clearly
    Returns:     "hz" [Hz] or None when declined; "low_hz", "high_hz": 95 % interval [Hz] or None; "why": "" or "nothing", "noisy",
                 "two-answers", "clipped", "short", "silent" (sentences: "pluck-" + why in `words.REASONS`); "confidence": 0 to 1, that
                 the best string is right within 1 %; "plucks": [{"at_s", "hz"}, ...] of the best string; "other_hz": the other answer
                 while two remain, else None; "outside": true when the answer lies outside the band; "level_db", "peak": root mean
                 square [dB of full scale] and largest sample; "clipped": share of samples at full scale; "peaks": [{"n", "hz", "db"}, ...]
                 the lines that were used, and "spectrum": [[hz, db], ...] up to 1.5 kHz, both after the best release
    Raises:      CoreError "out-of-range", "not-a-list", "too-many", "out-of-order"
    Valid:       spans of 18 to 350 Hz; interval and confidence were set on synthetic takes only, no real belt
    Source:      partials of a stiff string against foreign lines (`envelope.evidence`); logistic regression
    """
    samples, band = _checked(samples, rate, band_hz)
    mean_square, largest, clipped = _loudness(samples)
    reply = {"hz": None, "low_hz": None, "high_hz": None, "why": "", "confidence": 0.0, "plucks": [], "other_hz": None, "outside": False,
             "level_db": 20 * math.log10(max(mean_square, 1e-6)), "peak": largest, "clipped": clipped, "peaks": [], "spectrum": []}
    if len(samples) < _SHORTEST_S * rate:
        reply["why"] = "short"
    elif largest < _SILENT:
        reply["why"] = "silent"
    else:
        _heard(survey.Take(spectrum.lowered(samples, rate)), band, reply)
    return reply


def _heard(take, band, reply):
    """Fill the reply from a surveyed take."""
    if not take.strings:
        reply["why"] = "clipped" if reply["clipped"] > _CLIPPED_SHARE else "nothing"
        return
    choice = survey.chosen(take, band)
    best, _, _, _, rival, lead, _ = choice
    signs, moved = survey.signs(take, band, choice)
    reply["confidence"] = _chance(_RIGHT, signs) * _chance(_CLOSE, signs)
    settled = (1 - _PULLED) * (1 - _TO_COME * min(_MOST_FALL, max(0.0, -moved)))
    plucks = [[at, hz * settled, sigma] for at, hz, sigma in survey.plucks(take, best)]
    reply["plucks"] = [{"at_s": at, "hz": hz} for at, hz, _ in plucks]
    heard = take.heard[best[0]]
    reply["peaks"] = [{"n": n, "hz": line[0], "db": line[2]} for n, line in survey.used(heard, best)]
    reply["spectrum"] = _drawing(heard.powers[0])
    if rival and lead < _NEARLY:
        reply["other_hz"] = survey.first_hz(rival[1], rival[2])
    if reply["confidence"] < _SURE:
        reply["why"] = _why(best, rival, lead, reply["clipped"])
        return
    reply["outside"] = survey.outside(best, band)
    reply["hz"], reply["low_hz"], reply["high_hz"] = _interval(plucks)


def _chance(weights, signs):
    """Return the chance that a logistic model gives."""
    return 1 / (1 + math.exp(-min(50.0, max(-50.0, survey.total(weights, signs)))))


def _interval(plucks):
    """Return (frequency, low, high) of the 95 % interval [Hz]."""
    weight = weighted = 0.0
    for _, hz, sigma in plucks:
        weight += 1 / (sigma * sigma)
        weighted += hz / (sigma * sigma)
    hz = weighted / weight
    # Plucks share what is unknown of the string, so their number does not narrow the interval.
    half = _INTERVAL * min([sigma for _, _, sigma in plucks])
    return hz, hz - half, hz + half


def _drawing(power):
    """Return at most 98 points [[hz, dB], ...], the largest of every four bins."""
    out = []
    for first in range(0, lines.BINS, 4):
        out.append([(first + 1.5) * lines.BIN_HZ, 10 * math.log10(max(power[first:first + 4]) + 1e-14)])
    return out
