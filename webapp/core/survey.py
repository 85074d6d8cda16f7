"""A take surveyed: which strings may explain it, how likely each is, and what that says of the frequency."""

import math

from . import envelope
from . import features
from . import lines
from . import network
from . import network_weights
from . import partials
from . import releases
from . import spectrum

# Strings weighed, and of each octave at least so many, as high ones have few partials and score less; strings kept, and how many of them
# are judged partial by partial.
_WEIGHED = 36
_OF_AN_OCTAVE = 6
KEPT = 24
JUDGED = 8
# So close a frequency has to be [share]; where the best one is looked for about each string [share].
_CLOSE = 0.01
_ABOUT = (0.0, -0.006, -0.003, 0.003, 0.006)
# Strings this much less likely than the best are not asked.
_UNLIKELY = 0.001
# What sounds again sooner is the same pluck [s].
_ONE_PLUCK_S = 0.19
# An interval is at most so wide to either side [share].
_WIDEST = 0.04


class Take:
    """A take surveyed: its releases and the strings that may explain them, whatever is expected.

    `rises` and `odds` are of each release, the likeliest first: how much new sound, and the log odds that something was let go.
    `strings` holds the best: [place in `heard`, f0, B, sigma of the first frequency, log share of strings that would fit as well,
    evidence]; `most` is the most evidence. `later` holds the power spectra of each of `heard` at the moments `features.AGAIN`, `moves`
    what became of its lines.
    """

    def __init__(self, sound: list):
        curved, rises = releases.rising(sound)
        self.usual_rise = releases.usual(rises)
        found = releases.find(curved, rises)
        self.rises = [rise for _, rise, _ in found]
        self.odds = [odds for _, _, odds in found]
        self.heard = lines.heard(sound, [moment for moment, _, _ in found])
        self.later = self._again(sound)
        self.moves = [features.moves(heard, powers[0]) for heard, powers in zip(self.heard, self.later)]
        self.strings = self._strings()
        self.most = max([string[5] for string in self.strings]) if self.strings else 0.0

    def _again(self, sound):
        """Return `later`."""
        waits = list(zip(features.AGAIN, features.WINDOWS))
        powers = lines.spectra(sound, [(heard.start + wait, which) for heard in self.heard for wait, which in waits])
        return [powers[i:i + len(waits)] for i in range(0, len(powers), len(waits))]

    def _fitted(self):
        """Return [[minus first score, place, f0, B, sigma, share], ...] of every promising string, the best first."""
        out = []
        for place, heard in enumerate(self.heard):
            done = []
            for base, stiffness in partials.promising(heard):
                string = partials.fitted(heard, base, stiffness)
                first = partials.first_hz(string[0], string[1])
                # A fit to few lines may run away.
                within = partials.LOW_HZ < first < partials.HIGH_HZ
                if within and all([abs(first - partials.first_hz(one[0], one[1])) > 0.001 * first or abs(string[1] - one[1]) > 0.001 for one in done]):
                    done.append(string)
            for score, (base, stiffness, sigma, volume) in zip(partials.quick(heard, [one[:2] for one in done]), done):
                out.append([-score - 0.5 * volume, place, base, stiffness, sigma, volume])
        out.sort()
        return out

    def _weighed(self):
        """Return [[minus score, place, f0, B, sigma, share, evidence], ...] of the best of the fitted, of each octave some, the best first."""
        out = []
        octaves = {}
        for rank, (_, place, base, stiffness, sigma, volume) in enumerate(self._fitted()):
            octave = int(math.log2(partials.first_hz(base, stiffness)))
            octaves[octave] = octaves.get(octave, 0) + 1
            if rank >= _WEIGHED and octaves[octave] > _OF_AN_OCTAVE:
                continue
            value = envelope.evidence(self.heard[place], base, stiffness)
            out.append([-value - 0.5 * volume, place, base, stiffness, sigma, volume, value])
        out.sort()
        return out

    def _strings(self):
        """Return the best strings, one of each frequency at each place in `heard`."""
        out = []
        firsts = []
        for string in self._weighed():
            first = partials.first_hz(string[2], string[3])
            if all([one[0] != string[1] or abs(one[1] - first) >= 0.004 * first for one in firsts]):
                firsts.append((string[1], first))
                out.append(string[1:])
                if len(out) == KEPT:
                    break
        return out

    def whole(self, string: list) -> tuple:
        """Return (what was heard where the partials of a string are expected, numbers of the string as a whole)."""
        matches = partials.matched(self.heard[string[0]], string[1], string[2], features.PARTIALS)
        return matches, features.of_string(self, string, matches)

    def parts(self, string: list, matches: list) -> list:
        """Return the numbers of each partial of a string."""
        return features.of_partials(self.heard[string[0]], self.later[string[0]], matches)


def likely(take: object, band: list) -> tuple:
    """Return what may have been plucked.

    Parameters:  take: `Take` · band: [low, high] expected [Hz], or None
    Returns:     ([[chance, first frequency [Hz], spread of the logistic distribution about it [Hz], string], ...] of the 8 strings that
                 promise most, chance that it is none of them)
    Source:      `network`; the chances of all add up to 1
    """
    found = []
    for string, first, matches, of_string, of_band in _promising(take, band):
        odds, away, spread = network.judged(take.parts(string, matches), of_string, of_band)
        found.append([odds, first * (1 + away), spread * first, string])
    top = max([network_weights.NOTHING] + [one[0] for one in found])
    nothing = whole = math.exp(network_weights.NOTHING - top)
    for one in found:
        one[0] = math.exp(max(-50.0, one[0] - top))
        whole += one[0]
    return [[chance / whole, hz, spread, string] for chance, hz, spread, string in found], nothing / whole


def _promising(take, band):
    """Return (string, first frequency, matches, numbers of the whole, numbers of the band) of the strings that promise most."""
    out = []
    for i, string in enumerate(take.strings):
        first = partials.first_hz(string[1], string[2])
        matches, of_string = take.whole(string)
        of_band = features.of_band(first, band)
        out.append([-network.promise(of_string, of_band), i, (string, first, matches, of_string, of_band)])
    out.sort()
    return [one for _, _, one in out[:JUDGED]]


def share_below(found: list, hz: float) -> float:
    """Return the chance that a frequency lies below another.

    Parameters:  found: of `likely` · hz: the other one [Hz]
    Returns:     0 to the sum of the chances
    Source:      distribution function of the logistic distribution
    """
    out = 0.0
    for chance, middle, spread, _ in found:
        out += chance / (1 + math.exp(min(50.0, max(-50.0, (middle - hz) / spread))))
    return out


def chance_near(found: list, hz: float) -> float:
    """Return the chance that a frequency is right within 1 %.

    Parameters:  found: of `likely` · hz: the frequency [Hz]
    Returns:     0 to 1
    Source:      `share_below`
    """
    return share_below(found, hz * (1 + _CLOSE)) - share_below(found, hz * (1 - _CLOSE))


def best_hz(found: list) -> tuple:
    """Return the frequency that is most likely right within 1 %.

    Parameters:  found: of `likely`
    Returns:     (frequency [Hz], its chance), (0, 0) where nothing was found
    Source:      search about each likely string; then the mean of the strings within 1 % of the best place, which lies in their middle
    """
    most = place = 0.0
    least = _UNLIKELY * max([0.0] + [one[0] for one in found])
    worth = [one for one in found if one[0] > least]
    for _, hz, _, _ in worth:
        for about in _ABOUT:
            chance = chance_near(worth, hz * (1 + about))
            if chance > most:
                most = chance
                place = hz * (1 + about)
    total = weight = 0.0
    for chance, hz, _, _ in worth:
        if abs(hz - place) < _CLOSE * place:
            total += chance * hz
            weight += chance
    return (total / weight, chance_near(worth, total / weight)) if weight else (0.0, 0.0)


def _alike(found, hz):
    """Return what of `likely` is the same answer as a frequency."""
    return [one for one in found if abs(one[1] - hz) < features.SAME * hz]


def half_width(found: list, hz: float, share: float) -> float:
    """Return how far about a frequency so much of the chances of it and of frequencies like it lies.

    Parameters:  found: of `likely` · hz: the frequency [Hz] · share: 0 to 1 [-]
    Returns:     half the width [Hz], at most 4 % of the frequency
    Source:      `share_below`, halving
    """
    near = [one for one in _alike(found, hz) if one[0] > _UNLIKELY]
    whole = 0.0
    for one in near:
        whole += one[0]
    low = 0.0
    high = _WIDEST * hz
    for _ in range(16):
        middle = (low + high) / 2
        if share_below(near, hz + middle) - share_below(near, hz - middle) < share * whole:
            low = middle
        else:
            high = middle
    return high


def outside(hz: float, band: list) -> bool:
    """Tell whether a frequency lies outside of what is expected.

    Parameters:  hz: [Hz] · band: [low, high] [Hz], or None
    Returns:     true when it lies more than 3 % beyond an end
    Source:      `features.of_band`
    """
    return features.of_band(hz, band)[0] > 0


def likeliest(found: list, hz: float) -> list:
    """Return the likeliest string of a frequency.

    Parameters:  found: of `likely` · hz: the frequency, one of `best_hz` [Hz]
    Returns:     string of `Take.strings`
    Source:      the highest chance within `features.SAME`
    """
    most, out = -1.0, None
    for chance, _, _, string in _alike(found, hz):
        if chance > most:
            most, out = chance, string
    return out


def plucks(take: object, found: list, hz: float) -> list:
    """Return the releases at which a frequency was heard.

    Parameters:  take: `Take` · found: of `likely` · hz: the frequency [Hz]
    Returns:     [[seconds, first frequency [Hz]], ...] in the order of time, at least 0.19 s apart; below `features.A_PLUCK` of evidence
                 only the likeliest release
    Source:      `best_hz` of the strings of this frequency at each release, or the one of most evidence where none was judged
    """
    near = _alike(found, hz)
    named = _named(take, hz)
    top = take.heard[likeliest(found, hz)[0]].release
    out = []
    for r in [top] + [r for r in range(len(take.rises)) if r != top]:
        judged = [one for one in near if take.heard[one[3][0]].release == r]
        evidence, first = max([(0.0, hz)] + [(string[5], first) for string, first in named if take.heard[string[0]].release == r])
        at = take.heard[r].start / spectrum.RATE
        if (r == top or evidence > features.A_PLUCK) and all([abs(at - other) > _ONE_PLUCK_S for other, _ in out]):
            out.append([at, best_hz(judged)[0] if judged else first])
    out.sort()
    return out


def _named(take, hz):
    """Return [(string, its first frequency), ...] of a take that are the same answer as a frequency."""
    firsts = [(string, partials.first_hz(string[1], string[2])) for string in take.strings]
    return [(string, first) for string, first in firsts if abs(first - hz) < features.SAME * hz]
