"""The library door: ``import flybench as fb``, then ``fb.measure(...)``, ``fb.open_catalog(...)``, ``fb.choose(...)``.

Everything behind it is loaded when it is first asked for, so that importing flybench is quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from flybench.version import __version__

if TYPE_CHECKING:
    from flybench.errors import FlybenchError
    from flybench.library.bench import Plan, Run, card, measure, plan
    from flybench.library.explain import flags
    from flybench.library.result import Result
    from flybench.library.river import Choice, Drift, choose, compare, drift
    from flybench.library.shop import Shop, Table, open_catalog
    from flybench.quantity import Measured

_HOMES = {
    "FlybenchError": "errors",
    "Measured": "quantity",
    "Result": "library.result",
    **dict.fromkeys(("Run", "Plan", "measure", "plan", "card"), "library.bench"),
    **dict.fromkeys(("Drift", "Choice", "drift", "compare", "choose"), "library.river"),
    **dict.fromkeys(("Shop", "Table", "open_catalog"), "library.shop"),
    "flags": "library.explain",
}
"""Where each name of the door lives."""

__all__ = [
    "Choice",
    "Drift",
    "FlybenchError",
    "Measured",
    "Plan",
    "Result",
    "Run",
    "Shop",
    "Table",
    "__version__",
    "card",
    "choose",
    "compare",
    "drift",
    "flags",
    "measure",
    "open_catalog",
    "plan",
]


def __getattr__(name: str) -> Any:
    """Return a name of the door, loading what is behind it."""
    if name not in _HOMES:
        raise AttributeError(f"module 'flybench' has no attribute {name!r}")
    found = getattr(import_module(f"flybench.{_HOMES[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """Return the names of the door."""
    return __all__
