"""Equal flies filmed on one evening, before one card, or before two: how often does the interval of their difference hold?

    python benchmarks/truth_evenings.py [SHOPS] [FIRST]

Shops of ``tests/helpers/evening_worlds.py``, SHOPS of each kind (120 unless given) from the seed FIRST on, one pair each.
Printed beside each share: what the same runs give where nobody named the set-up and no file tells when it was filmed, so
that all of them look like one evening, as all did before names and days were read. Last, by how much the intervals are
wider than what would hold 95 %. Wanted: 92 to 98 %.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))

from evening_worlds import unnamed
from evenings_judged import away

KINDS = ("one evening", "one card", "two cards")


def evenings(shops: int, first: int = 0) -> None:
    """Print the table."""
    print("differences of equal flies inside k = 2, % (wanted 92 to 98; in brackets: without name and day)")
    for kind in KINDS:
        for runs in (1, 3):
            told = np.abs(away(kind, runs=runs, shops=shops, first=first))
            bare = np.abs(away(kind, runs=runs, shops=shops, first=first, seen=unnamed))
            held, before = 100 * np.mean(told <= 2), 100 * np.mean(bare <= 2)
            wide = 2 / np.quantile(told, 0.95)
            print(f"  {kind:<11} {runs} of each  {held:5.1f} ({before:.1f})  width {wide:.2f}", flush=True)


def main() -> None:
    """Print the table for as many shops as asked."""
    shops, first = (int(one) for one in (*sys.argv[1:], *("120", "0")[len(sys.argv) - 1 :]))
    evenings(shops, first)


if __name__ == "__main__":
    main()
