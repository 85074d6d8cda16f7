"""Plain tables and the few numbers that describe a row of timings."""

import math
import statistics


def show(title: str, columns: list, rows: list, notes: list = ()):
    """Print a table; every cell is text or is made text."""
    cells = [columns] + [[str(cell) for cell in row] for row in rows]
    widths = [max(len(row[i]) for row in cells) for i in range(len(columns))]
    print(f"\n{title}\n")
    for number, row in enumerate(cells):
        print("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths)).rstrip())
        if number == 0:
            print("  " + "  ".join("-" * width for width in widths))
    for note in notes:
        print(f"  {note}")
    print(flush=True)


def middle(values: list) -> float:
    return statistics.median(values)


def percentile(values: list, share: float) -> float:
    """Return the smallest value that at least `share` of the values do not exceed (nearest rank)."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(len(ordered) * share) - 1)]


def ms(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms"
