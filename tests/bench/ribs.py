"""How often the count of ribs on a drawn belt is right, declined or wrong, on seeds that its limits were not chosen on."""

import argparse
import collections
import time

from tests import ribbelts
from tests.bench import tables
from webapp.core import ribcount

# The limits of core/ribcount.py were chosen on seeds below this.
FIRST_SEED = 100_000
TAKES = 300


def asked(one: dict) -> dict:
    return ribcount.count(one["profiles"], one["length_px"])


def row(name: str, belts) -> list:
    """[name, number, right, declined, wrong, reasons by how often]."""
    right = wrong = total = 0
    reasons = collections.Counter()
    for one in belts:
        told = asked(one)
        total += 1
        if told["ribs"] is None:
            reasons[told["reason"]] += 1
        elif told["ribs"] == one["count"]:
            right += 1
        else:
            wrong += 1
    return [name, total, f"{100 * right / total:.1f} %", f"{100 * (total - right - wrong) / total:.1f} %", f"{100 * wrong / total:.1f} %",
            ", ".join(f"{code} {number}" for code, number in reasons.most_common())]


def main(first: int = FIRST_SEED, takes: int = TAKES):
    columns = ["drawn belt", "number", "right", "declined", "wrong", "declined because"]
    started = time.perf_counter()
    rows = [row(kind, (ribbelts.belt(first + k, kind) for k in range(takes))) for kind in ribbelts.KINDS]
    rows += [row(f"no belt: {kind}", (ribbelts.not_belt(first + k, kind) for k in range(takes))) for kind in ribbelts.NOT_BELTS]
    tables.show(f"Ribs counted on drawn belts, 3 to 10 ribs, seeds from {first}", columns, rows,
                [f"{time.perf_counter() - started:.0f} s with the drawing. Every belt is drawn (tests/ribbelts.py): no photo of a real one was counted."])


if __name__ == "__main__":
    asked_for = argparse.ArgumentParser()
    asked_for.add_argument("--first", type=int, default=FIRST_SEED)
    asked_for.add_argument("--takes", type=int, default=TAKES)
    given = asked_for.parse_args()
    main(given.first, given.takes)
