"""Hear a plucked span: the first frequency with its interval from a short sound, or the reason why there is no answer.

The span is a stiff string struck once.  A release is a sudden set of new lines that ring, which a small neural network tells from other
sudden sounds (`releases`); the lines after it (`lines`) are explained by strings (`partials`, `envelope`); a second network says how likely
each string is and how far off (`features`, `network`); the frequency that is most likely right within 1 % answers when it is likely enough
(`survey`).
"""

import math

from . import features
from . import lines
from . import partials
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
# Another frequency at least this likely, in parts of the best one's chance, and the chance of no pluck, are reasons not to answer.
_NEARLY = 0.35
_HARDLY = 0.5
# What begins less suddenly was not let go, whatever it sounds like (`releases.jumps`): 8 of 5,680 right answers had less.
_SUDDEN = 0.2
# The chance within 1 % that an answer has to have, and the share of the chances that makes a 95 % interval: set on takes that no weight
# was fitted to (the set "tune" of tests/plucks.py and more).
_SURE = 0.9
_INTERVAL = 0.96
# A span that dies away in few periods looks much like others: below these Q the answer has to be likelier. Of 2,600 plucks of Q 5 that no
# weight was fitted to, 82 of 829 answers were off by more than 1 % without this and 17 of 350 with it; of 3,074 answers to others it takes 101.
_SOON, _BRIEF = 30.0, 13.0
_SURE_IF_SOON, _SURE_IF_BRIEF = 0.94, 0.98
# Heard at so many plucks it may be less likely: of 27 takes of several plucks with a chance between the two limits 24 were right.
_AGAIN = 3
_SURE_IF_AGAIN = 0.85
# Of 510 plucks of Q 5 that were declined 153 had little chance and a Q below this, of 773 others 22: then that is the reason to tell.
_AT_ONCE = 7.0


def _checked(samples, rate, band_hz):
    """Return (the samples as floats from -1 to 1, the largest of them, band as two floats or None)."""
    if isinstance(rate, bool) or not isinstance(rate, (int, float)) or not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise CoreError("out-of-range", "rate", {"low": str(LOWEST_RATE), "high": str(HIGHEST_RATE)})
    if not isinstance(samples, (list, tuple)):
        raise CoreError("not-a-list", "samples")
    if len(samples) > LONGEST_S * rate:
        raise CoreError("too-many", "samples", {"most": str(int(LONGEST_S * rate))})
    # Asking the set of types is quicker than asking each value.
    known = all([kind in (int, float) for kind in {type(value) for value in samples}])
    largest = max(max(samples), -min(samples)) if known and samples else 0.0
    if not known or not largest <= _FULL_SCALE:
        raise _beyond()
    scale = 1 / _FULL_SCALE if largest > 1 else 1.0
    return [value * scale for value in samples], largest * scale, _band(band_hz)


def _beyond():
    return CoreError("out-of-range", "samples", {"low": "-1", "high": "1"})


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


def _loudness(samples, largest):
    """Return (root mean square, share of samples at full scale); what is no number is found out here."""
    square = 0.0
    for value in samples:
        square += value * value
    if math.isnan(square):
        raise _beyond()
    clipped = len([value for value in samples if value >= _CLIPPED or value <= -_CLIPPED]) if largest >= _CLIPPED else 0
    count = max(1, len(samples))
    return math.sqrt(square / count), clipped / count


def _asked(plucks, quality):
    """Return the chance within 1 % that an answer has to have."""
    if len(plucks) >= _AGAIN:
        return _SURE_IF_AGAIN
    return _SURE_IF_BRIEF if quality < _BRIEF else _SURE_IF_SOON if quality < _SOON else _SURE


def _why(reply, chance, nothing, rival, quality):
    """Return the reason not to answer, the most useful one to whoever holds the phone first."""
    if reply["clipped"] > _CLIPPED_SHARE:
        return "clipped"
    if nothing > _HARDLY:
        return "nothing"
    if rival > _NEARLY * chance:
        return "two-answers"
    # No partial that stands out has a quality of 0: that is noise.
    return "brief" if 0 < quality < (_AT_ONCE if chance < _SURE else _BRIEF) else "noisy"


def listen(samples: list, rate: float, band_hz: list = None) -> dict:
    """Return the first frequency of a plucked span as it was heard, or the reason why there is none.

    Parameters:  samples: floats from -1 to 1, or 16-bit integers; 1 to 3 s of sound, at most 20 s · rate: their rate, 8000 to 96000; 8000
                 is enough and quickest [Hz] · band_hz: (low, high) expected from the drive [Hz], or None; it only weighs: a string outside
                 answers too when the sound speaks for it clearly
    Returns:     "hz" [Hz] or None when declined; "best_hz": the likeliest, answered or not [Hz], or None; "low_hz", "high_hz": 95 %
                 interval [Hz] or None; "why": "" or "nothing", "noisy", "brief", "two-answers", "clipped", "short", "silent" (sentences:
                 "pluck-" + why in `words.REASONS`); "confidence": 0 to 1, that the best frequency is right within 1 %; "plucks": [{"at_s", "hz"},
                 ...] at which it was heard; "other_hz": the other answer while two remain, else None; "outside": true when the answer
                 lies outside the band; "level_db", "peak": root mean square [dB of full scale] and largest sample; "clipped": share of
                 samples at full scale; "peaks": [{"n", "hz", "db"}, ...] the lines that were used, and "spectrum": [[hz, db], ...] up to
                 1.5 kHz, both after the best release
    Raises:      CoreError "out-of-range", "not-a-list", "too-many", "out-of-order"
    Valid:       spans of 18 to 350 Hz; interval and confidence were set on synthetic takes only, no real belt
    Source:      partials of a stiff string against foreign lines (`envelope.evidence`); neural network fitted to synthetic takes
    """
    samples, largest, band = _checked(samples, rate, band_hz)
    mean_square, clipped = _loudness(samples, largest)
    reply = {"hz": None, "best_hz": None, "low_hz": None, "high_hz": None, "why": "", "confidence": 0.0, "plucks": [],
             "other_hz": None, "outside": False, "level_db": 20 * math.log10(max(mean_square, 1e-6)), "peak": largest, "clipped": clipped,
             "peaks": [], "spectrum": []}
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
    found, nothing = survey.likely(take, band)
    hz, chance = survey.best_hz(found)
    string = survey.likeliest(found, hz)
    heard = take.heard[string[0]]
    other, rival = survey.best_hz([one for one in found if abs(one[1] - hz) > features.SAME * hz])
    if rival > _NEARLY * chance:
        reply["other_hz"] = other
    if take.rises[heard.release] < _SUDDEN:
        chance, nothing = 0.0, 1.0
    reply["plucks"] = [{"at_s": at, "hz": one} for at, one in survey.plucks(take, found, hz)]
    reply["best_hz"] = hz
    reply["confidence"] = chance
    matches = partials.matched(heard, string[1], string[2])
    quality = features.quality(heard, take.later[string[0]], matches)
    _show(heard, matches, reply)
    if chance < _asked(reply["plucks"], quality):
        reply["why"] = _why(reply, chance, nothing, rival, quality)
        return
    half = survey.half_width(found, hz, _INTERVAL)
    reply["outside"] = survey.outside(hz, band)
    reply["hz"], reply["low_hz"], reply["high_hz"] = hz, hz - half, hz + half


def _show(heard, matches, reply):
    """Fill in the lines and the spectrum that the likeliest string rests on."""
    reply["peaks"] = [{"n": n, "hz": line[0], "db": line[2]} for n, line in features.used(matches)]
    reply["spectrum"] = _drawing(heard.powers[0])


def _drawing(power):
    """Return at most 98 points [[hz, dB], ...], the largest of every four bins."""
    out = []
    for first in range(0, lines.BINS, 4):
        out.append([(first + 1.5) * lines.BIN_HZ, 10 * math.log10(max(power[first:first + 4]) + 1e-14)])
    return out
