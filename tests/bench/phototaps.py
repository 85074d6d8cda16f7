"""How good a drive tapped on a photo is, by what is known of it, and how often its stated error holds the truth.

Taps, faces, sizes and cameras err by chance as much as core/photofit.py allows for: that a real finger is that good is not shown.
"""

import itertools

import numpy as np

from tests.bench import tables
from tests.core.test_photofit import by_eye, truth_inside

TIMES = 100
SEED = 41
KNOWN = [["crank", "crank's diameter"], ["ruler", "200 mm ruler"], ["all", "every diameter"], ["sheet", "sheet, 297 by 210 mm"]]


def main():
    rng = np.random.default_rng(SEED)
    rows = []
    for (code, name), (points, closer) in itertools.product(KNOWN, [(3, 1.0), (5, 1.0), (3, 3.0), (5, 3.0), (8, 3.0)]):
        square = truth_inside(rng, "automatic", points, closer, code, by_eye, TIMES)
        tilted = truth_inside(rng, "automatic", points, closer, code, lambda r: r.uniform(15, 25), TIMES)
        rows.append([name, points, f"{closer:.0f}", f"{square[1]:.1f} mm", f"{100 * square[0]:.0f} %", f"{tilted[1]:.1f} mm", f"{100 * tilted[0]:.0f} %"])
    tables.show(f"Spans of the sample drive \"automatic\" from a photo of 1600 by 1200, {TIMES} drawings each",
                ["known", "points a rim", "times closer", "± square by eye", "holds", "± tilted 15-25°", "holds"], rows,
                ["±: middle of the stated half widths of 95 %, of spans of 68 to 250 mm."])


if __name__ == "__main__":
    main()
