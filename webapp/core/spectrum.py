"""Sound to spectra: halving the sample rate, the fast Fourier transform, windows that suit a plucked span."""

import math

# Everything after this module works at this rate: the partials of a span that matter lie below 1.5 kHz.
RATE = 4000
# Half-band filters, the taps at odd distance from the middle (the middle is 1/2, the even ones are 0).
SHORT = (9 / 32, -1 / 32)
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
    one, two, three, four, five = taps
    # The ten samples under the odd taps move up by one from sample to sample: quicker than to look up each.
    a, b, c, d, e, f, g, h, i = [padded[2 * k] for k in range(9)]
    for at in range(reach, reach + len(samples), 2):
        j = padded[at + 9]
        out.append(0.5 * padded[at] + one * (e + f) + two * (d + g) + three * (c + h) + four * (b + i) + five * (a + j))
        a = b
        b = c
        c = d
        d = e
        e = f
        f = g
        g = h
        h = i
        i = j
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
        at = steps // _PHASES + 1
        value = 0.0
        for weight in kernels[steps % _PHASES]:
            value += weight * padded[at]
            at += 1
        out.append(value)
    return out


def lowered(samples: list, rate: float) -> list:
    """Return the sound at 4 kHz.

    Parameters:  samples: floats · rate: their rate, 8000 or more [Hz]
    Returns:     floats at 4000 Hz, what lies above 1.5 to 2 kHz filtered away
    Source:      halving, then a windowed sinc (Hann); any textbook of multirate signal processing
    """
    while rate >= 2 * RATE:
        samples = halve(samples, _LONG if rate < 4 * RATE else SHORT)
        rate = rate / 2
    return samples if rate == RATE else _between(samples, rate)


def _twiddles(steps, size):
    """Return cosine and sine of one, two and three times so many steps of a full turn."""
    out = []
    for k in (1, 2, 3):
        angle = -2 * math.pi * k * steps / size
        out.append(math.cos(angle))
        out.append(math.sin(angle))
    return out


def _plan(size):
    """Return (twiddles of the first stage, [(distance, twiddles), ...] of the stages after it); made once for each size.

    Of the first stage six lists, as each place turns differently; of a later one six numbers for each turn. The turn of nothing is left out.
    """
    if size not in _plans:
        quarter = size // 4
        first = [_twiddles(place, size) for place in range(quarter)]
        stages = []
        distance = 4
        while distance <= quarter:
            stages.append((distance, [_twiddles(turn * distance, size) for turn in range(1, quarter // distance)]))
            distance *= 4
        _plans[size] = ([[one[k] for one in first] for k in range(6)], stages)
    return _plans[size]


# Three times the same four points are joined: a call for each would cost as much as joining them.
def _first_stage(first, weights, second, others, twiddles):
    """Return first times weights, plus i times second times others, after the first stage, as (real parts, imaginary parts)."""
    size = len(first)
    quarter = size // 4
    c1, s1, c2, s2, c3, s3 = twiddles
    real = [0.0] * size
    imaginary = [0.0] * size
    k = 0
    for i in range(quarter):
        a = first[i] * weights[i]
        b = second[i] * others[i]
        j = i + quarter
        c = first[j] * weights[j]
        d = second[j] * others[j]
        j += quarter
        e = first[j] * weights[j]
        f = second[j] * others[j]
        j += quarter
        g = first[j] * weights[j]
        h = second[j] * others[j]
        ur = a + e
        ui = b + f
        a -= e
        b -= f
        vr = c + g
        vi = d + h
        c -= g
        d -= h
        real[k] = ur + vr
        imaginary[k] = ui + vi
        k += 1
        e = a + d
        f = b - c
        g = c1[i]
        h = s1[i]
        real[k] = e * g - f * h
        imaginary[k] = e * h + f * g
        k += 1
        ur -= vr
        ui -= vi
        g = c2[i]
        h = s2[i]
        real[k] = ur * g - ui * h
        imaginary[k] = ur * h + ui * g
        k += 1
        a -= d
        b += c
        g = c3[i]
        h = s3[i]
        real[k] = a * g - b * h
        imaginary[k] = a * h + b * g
        k += 1
    return real, imaginary


def _straight(real, imaginary, distance, out_r, out_i):
    """Write what a later stage leaves unturned: its first places, in the last stage all."""
    quarter = len(real) // 4
    for i in range(distance):
        a = real[i]
        b = imaginary[i]
        j = i + quarter
        c = real[j]
        d = imaginary[j]
        j += quarter
        e = real[j]
        f = imaginary[j]
        j += quarter
        g = real[j]
        h = imaginary[j]
        ur = a + e
        ui = b + f
        a -= e
        b -= f
        vr = c + g
        vi = d + h
        c -= g
        d -= h
        out_r[i] = ur + vr
        out_i[i] = ui + vi
        k = i + distance
        out_r[k] = a + d
        out_i[k] = b - c
        k += distance
        out_r[k] = ur - vr
        out_i[k] = ui - vi
        k += distance
        out_r[k] = a - d
        out_i[k] = b + c


def _turned(real, imaginary, distance, twiddles, out_r, out_i):
    """Write what a later stage turns: its places from the distance on."""
    quarter = len(real) // 4
    start = 0
    for c1, s1, c2, s2, c3, s3 in twiddles:
        start += distance
        shift = 3 * start
        for i in range(start, start + distance):
            a = real[i]
            b = imaginary[i]
            j = i + quarter
            c = real[j]
            d = imaginary[j]
            j += quarter
            e = real[j]
            f = imaginary[j]
            j += quarter
            g = real[j]
            h = imaginary[j]
            ur = a + e
            ui = b + f
            a -= e
            b -= f
            vr = c + g
            vi = d + h
            c -= g
            d -= h
            k = i + shift
            out_r[k] = ur + vr
            out_i[k] = ui + vi
            k += distance
            e = a + d
            f = b - c
            out_r[k] = e * c1 - f * s1
            out_i[k] = e * s1 + f * c1
            k += distance
            ur -= vr
            ui -= vi
            out_r[k] = ur * c2 - ui * s2
            out_i[k] = ur * s2 + ui * c2
            k += distance
            a -= d
            b += c
            out_r[k] = a * c3 - b * s3
            out_i[k] = a * s3 + b * c3


def _transform(first, weights, second, others):
    """Return the discrete Fourier transform of first times weights, plus i times second times others, as (real parts, imaginary parts)."""
    size = len(first)
    twiddles, stages = _plan(size)
    real, imaginary = _first_stage(first, weights, second, others, twiddles)
    for distance, turns in stages:
        out_r = [0.0] * size
        out_i = [0.0] * size
        _straight(real, imaginary, distance, out_r, out_i)
        _turned(real, imaginary, distance, turns, out_r, out_i)
        real = out_r
        imaginary = out_i
    return real, imaginary


def _parted(real, imaginary, bins):
    """Return four times the power of the first sound and of the second: the transform of a real sound is Hermitian."""
    size = len(real)
    one = [0.0] * bins
    two = [0.0] * bins
    for k in range(bins):
        m = size - k if k else 0
        a = real[k]
        b = imaginary[k]
        c = real[m]
        d = imaginary[m]
        e = a + c
        f = b - d
        one[k] = e * e + f * f
        b += d
        a -= c
        two[k] = a * a + b * b
    return one, two


# Both fetch the same four numbers of each bin: shared in lists that costs MicroPython three times as much (measured).
def _joined(real, imaginary, bins):
    """Return four times the power of the sound whose even samples were the first and whose odd ones the second, a step later."""
    size = len(real)
    cosines, sines = _turns(2 * size)
    out = [0.0] * bins
    for k in range(bins):
        m = size - k if k else 0
        a = real[k]
        b = imaginary[k]
        c = real[m]
        d = imaginary[m]
        e = a - c
        f = b + d
        a += c
        b -= d
        c = cosines[k]
        d = sines[k]
        a += f * c + e * d
        b += f * d - e * c
        out[k] = a * a + b * b
    return out


def _turns(size):
    """Return (cosines, sines) of the first half of as many steps of a full turn backwards as there are samples; made once for each size."""
    if -size not in _plans:
        angles = [-2 * math.pi * k / size for k in range(size // 2)]
        _plans[-size] = ([math.cos(angle) for angle in angles], [math.sin(angle) for angle in angles])
    return _plans[-size]


def _stretch(sound, start, size):
    """Return a stretch of sound, zeros where there is none."""
    if 0 <= start <= len(sound) - size:
        return sound[start:start + size]
    held = [0.0] * min(size, max(0, -start)) + sound[max(0, start):max(0, start + size)]
    return held + [0.0] * (size - len(held))


def powers(sound: list, stretches: list, bins: int) -> list:
    """Return the power spectra of stretches of a sound.

    Parameters:  sound: floats · stretches: [(where it starts, also before or after the sound [samples], what each of its samples is
                 multiplied by), ...], all of one length, a power of two; of a power of four two cost as much as one
                 · bins: how many from 0 Hz up, at most half of the length [-]
    Returns:     [[4 |X[k]|^2, ...], ...] with X[k] = sum window[n] sound[start + n] exp(-2 pi i k n / N)
    Source:      Stockham's self-sorting radix-4 algorithm; two real sounds, or the even and the odd samples of one, go through it as one
                 complex sound; complex objects and pairs are slow in MicroPython, hence plain lists and indices
    """
    size = len(stretches[0][1]) if stretches else 1
    # Powers of four have an even number of noughts behind the one.
    if not size & 0x55555555:
        return _by_halves(sound, stretches, bins)
    held = [_stretch(sound, start, size) for start, _ in stretches]
    out = []
    for i in range(0, len(held), 2):
        j = min(i + 1, len(held) - 1)
        out.extend(_parted(*_transform(held[i], stretches[i][1], held[j], stretches[j][1]), bins))
    return out[:len(held)]


def _by_halves(sound, stretches, bins):
    """Return the power spectra of stretches, the even and the odd samples of each as one complex sound."""
    parts = _halves(sound)
    last = None
    out = []
    for start, window in stretches:
        if window is not last:
            weights = _halves(window)
            last = window
        half = len(window) // 2
        first = _stretch(parts[start % 2], start // 2, half)
        second = _stretch(parts[1 - start % 2], (start + 1) // 2, half)
        out.append(_joined(*_transform(first, weights[0], second, weights[1]), bins))
    return out


def _halves(values):
    """Return the even values and the odd ones."""
    return [values[i] for i in range(0, len(values), 2)], [values[i] for i in range(1, len(values), 2)]


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
