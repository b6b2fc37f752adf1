"""Copies a catalog in a process of its own, a few rows in each transaction, so that a kill falls between them.

    python copier.py FROM TO

It writes a dot after every step.
"""

from __future__ import annotations

import sys

from flybench.catalog.store import copying
from flybench.catalog.store.open import open_catalog

copying._ROWS = 5
copying._LARGE_ROWS = {}


def main() -> None:
    source, target = sys.argv[1:]
    copying.copy_catalog(open_catalog(source, make=False), target, lambda what, done, whole: _dot())


def _dot() -> None:
    sys.stdout.write(".")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
