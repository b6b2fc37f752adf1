"""Settings that all tests share."""

from __future__ import annotations

import os

for library in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(
        library, "1"
    )  # tests run side by side: more threads than cores only wait for each other
