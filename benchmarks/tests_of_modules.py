"""Which fast tests belong to which folder or module: what a small error in it is tried on."""

from __future__ import annotations

TESTS = {
    "statistics": ("tests/statistics", "tests/published/test_gum.py"),
    "sinking/weight": (
        "tests/sinking/test_weight_laws.py",
        "tests/sinking/test_parts_laws.py",
        "tests/sinking/test_scale_edges.py",
        "tests/sinking/test_part_edges.py",
        "tests/sinking/test_bead_edges.py",
        "tests/published/test_parts.py",
    ),
    "sinking/model/other_water": ("tests/sinking/test_carried_to_other_water.py",),
    "sinking/model": ("tests/sinking", "tests/published/test_sinking_chain.py"),
    "rig/water": ("tests/rig/test_rig_water.py",),
    "rig/odds": ("tests/rig/test_rig_draws.py",),
    "rig/advice/touches": (
        "tests/rig/test_rig_touches.py",
        "tests/rig/test_rig_belief_by_hand.py",
        "tests/rig/test_rig_touch_chance.py",
    ),
    "rig/chain/forces": ("tests/rig/test_rig_forces.py",),
    "catalog/search": (
        "tests/catalog/test_query.py",
        "tests/catalog/test_query_kinds.py",
        "tests/catalog/test_query_limits.py",
        "tests/catalog/test_query_rows.py",
        "tests/catalog/test_query_words.py",
    ),
    "bench/fit": (
        "tests/bench/test_fall_fit.py",
        "tests/bench/test_noise_models.py",
        "tests/bench/test_pooled_drops.py",
        "tests/published/test_slope_bound.py",
    ),
    "bench/fit/fall": (
        "tests/bench/test_fall_by_hand.py",
        "tests/bench/test_fall_fit.py",
        "tests/bench/test_fall_models.py",
    ),
    "bench/verdict": ("tests/bench/test_bench_budget.py",),
}
"""Fast tests of each folder or module; the longest name that fits counts."""
