"""Sound to spectra: halving the sample rate, the fast Fourier transform, windows that suit a plucked span."""

import math

# Everything after this module works at this rate: the partials of a span that matter lie below 1.5 kHz.
RATE = 4000
# Half-band filters, the taps at odd distance from the middle (the middle is 1/2, the even ones are 0).
_SHORT = (9 / 32, -1 / 32)
_LONG = (0.31328, -0.09174, 0.04194, -0.01914, 0.00802)
# Of the last step from 4 to 8 kHz down to 4 kHz: half the kernel in seconds, its corner, steps between two samples.
_REACH_S = 0.002
_CORNER_HZ = 1850.0
_PHASES = 64
_plans = {}


def halve(samples: list, taps: tuple) -> list:
    """Return the samples at half the rate, what lies above the new range filtered away.

    Parameters:  samples: at the old rate · taps: half of the odd taps of a half-band filter
    Returns:     every second sample of the filtered sound
    Source:      half-band filters, any textbook of multirate signal processing
    """
    reach = 2 * len(taps) - 1
    padded = [0.0] * reach + samples + [0.0] * (reach + 1)
    out = []
    if len(taps) == 2:
        near, far = taps
        for i in range(reach, reach + len(samples), 2):
            out.append(0.5 * padded[i] + near * (padded[i - 1] + padded[i + 1]) + far * (padded[i - 3] + padded[i + 3]))
        return out
    a, b, c, d, e = taps
    for i in range(reach, reach + len(samples), 2):
        out.append(0.5 * padded[i] + a * (padded[i - 1] + padded[i + 1]) + b * (padded[i - 3] + padded[i + 3])
                   + c * (padded[i - 5] + padded[i + 5]) + d * (padded[i - 7] + padded[i + 7]) + e * (padded[i - 9] + padded[i + 9]))
    return out


def _kernels(rate):
    """Return a windowed sinc for every sixty-fourth of a sample."""
    reach = int(_REACH_S * rate)
    out = []
    for phase in range(_PHASES):
        kernel = []
        total = 0.0
        for k in range(1 - reach, reach + 1):
            away = k - phase / _PHASES
            x = 2 * math.pi * _CORNER_HZ / rate * away
            weight = (math.sin(x) / x if abs(x) > 1e-9 else 1.0) * math.cos(math.pi / 2 * away / reach) ** 2
            kernel.append(weight)
            total += weight
        out.append([weight / total for weight in kernel])
    return out


def _between(samples, rate):
    """Return the sound at 4 kHz, taken between the samples."""
    kernels = _kernels(rate)
    width = len(kernels[0])
    padded = [0.0] * (width // 2) + samples + [0.0] * (width + 1)
    out = []
    for i in range(int(len(samples) * RATE / rate)):
        steps = int(i * rate * _PHASES / RATE + 0.5)
        first = steps // _PHASES + 1
        kernel = kernels[steps % _PHASES]
        value = 0.0
        for k in range(width):
            value += kernel[k] * padded[first + k]
        out.append(value)
    return out


def lowered(samples: list, rate: float) -> list:
    """Return the sound at 4 kHz.

    Parameters:  samples: floats · rate: their rate, 8000 or more [Hz]
    Returns:     floats at 4000 Hz, what lies above 1.5 to 2 kHz filtered away
    Source:      halving, then a windowed sinc (Hann); any textbook of multirate signal processing
    """
    while rate >= 2 * RATE:
        samples = halve(samples, _LONG if rate < 4 * RATE else _SHORT)
        rate = rate / 2
    return samples if rate == RATE else _between(samples, rate)


def _plan(size):
    """Return [(distance, places, [cosines and sines of one, two and three turns]), ...] for each stage; made once for each size."""
    if size not in _plans:
        quarter = size // 4
        stages = []
        distance = 1
        while distance < quarter * 2:
            places = []
            turns = [[], [], [], [], [], []]
            for i in range(quarter):
                turn = i // distance
                places.append(i + 3 * turn * distance)
                for k in (1, 2, 3):
                    angle = -2 * math.pi * k * turn * distance / size
                    turns[2 * k - 2].append(math.cos(angle))
                    turns[2 * k - 1].append(math.sin(angle))
            stages.append((distance, places, turns))
            distance *= 4
        _plans[size] = stages
    return _plans[size]


def transform(real: list, imaginary: list) -> tuple:
    """Return the discrete Fourier transform of complex samples, given and returned as two lists.

    Parameters:  real: a power of four of floats · imaginary: as many
    Returns:     (real parts, imaginary parts), X[k] = sum x[n] exp(-2 pi i k n / N)
    Source:      Stockham's self-sorting radix-4 algorithm; complex objects are slow in MicroPython, hence two lists
    """
    size = len(real)
    quarter = size // 4
    for distance, places, (c1, s1, c2, s2, c3, s3) in _plan(size):
        out_r = [0.0] * size
        out_i = [0.0] * size
        for i in range(quarter):
            j = i + quarter
            a = real[i]
            b = imaginary[i]
            c = real[j]
            d = imaginary[j]
            j += quarter
            e = real[j]
            f = imaginary[j]
            j += quarter
            g = real[j]
            h = imaginary[j]
            k = places[i]
            ur = a + e
            ui = b + f
            vr = a - e
            vi = b - f
            a = c + g
            b = d + h
            c -= g
            d -= h
            out_r[k] = ur + a
            out_i[k] = ui + b
            k += distance
            e = vr + d
            f = vi - c
            g = c1[i]
            h = s1[i]
            out_r[k] = e * g - f * h
            out_i[k] = e * h + f * g
            k += distance
            ur -= a
            ui -= b
            g = c2[i]
            h = s2[i]
            out_r[k] = ur * g - ui * h
            out_i[k] = ur * h + ui * g
            k += distance
            vr -= d
            vi += c
            g = c3[i]
            h = s3[i]
            out_r[k] = vr * g - vi * h
            out_i[k] = vr * h + vi * g
        real = out_r
        imaginary = out_i
    return real, imaginary


def powers_of_two(first: list, second: list, bins: int) -> tuple:
    """Return the power spectra of two real sounds by one transform.

    Parameters:  first: a power of two of floats · second: as many · bins: how many from 0 Hz up [-]
    Returns:     (|X|^2 of the first, |X|^2 of the second), as lists
    Source:      the transform of a real sound is Hermitian, so two fit in one
    """
    real, imaginary = transform(first, second)
    size = len(real)
    one = []
    two = []
    for k in range(bins):
        m = (size - k) % size
        a = real[k]
        b = imaginary[k]
        c = real[m]
        d = imaginary[m]
        one.append(((a + c) * (a + c) + (b - d) * (b - d)) / 4)
        two.append(((b + d) * (b + d) + (c - a) * (c - a)) / 4)
    return one, two


def summit(powers: list) -> float:
    """Return where a peak lies between bins.

    Parameters:  powers: of the bin below, the highest, the bin above
    Returns:     bins from the highest, -0.5 to 0.5
    Source:      parabola through the logarithms, any textbook of spectral analysis
    """
    left, middle, right = [math.log(power + 1e-30) for power in powers]
    bend = left - 2 * middle + right
    return 0.5 * (left - right) / bend if bend < -1e-9 else 0.0


def hann(size: int) -> list:
    """Return a Hann window.

    Parameters:  size: length [-]
    Returns:     weights 0 to 1
    Source:      0.5 - 0.5 cos(2 pi (i + 1/2) / N)
    """
    return [0.5 - 0.5 * math.cos(2 * math.pi * (i + 0.5) / size) for i in range(size)]


def falling(size: int, rise: int) -> list:
    """Return a window that rises fast and falls slowly, as a pluck does.

    Parameters:  size: length [-] · rise: samples of the rise [-]
    Returns:     weights 0 to 1: a quarter of a sine squared up, the rest of a cosine squared down
    Source:      a compromise of this project: the short rise hides the click of the release, the fall weighs as the decay does
    """
    out = []
    for i in range(size):
        if i < rise:
            up = math.sin(math.pi / 2 * (i + 0.5) / rise)
        else:
            up = math.cos(math.pi / 2 * (i - rise + 0.5) / (size - rise))
        out.append(up * up)
    return out


def windowed(samples: list, start: int, window: list, size: int) -> list:
    """Return a stretch of sound times a window, zeros where there is no sound, filled with zeros up to a size.

    Parameters:  samples: the sound · start: index of the window's first weight [-] · window: weights · size: length of the result [-]
    Returns:     floats
    Source:      zero padding
    """
    count = len(samples)
    out = []
    for i in range(len(window)):
        k = start + i
        out.append(samples[k] * window[i] if 0 <= k < count else 0.0)
    return out + [0.0] * (size - len(out))
