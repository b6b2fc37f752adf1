"""A stocked invented shop for each test of the sink commands, and one where nothing was measured."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from console import Said, flybench
from shop import shop
from sinking_shop import sinking_shop

from flybench.catalog.store.open import Catalog, open_catalog
from flybench.shop.next_fly import predicting
from flybench.shop.speeds import learning

Run = Callable[..., Said]


@pytest.fixture(scope="session", autouse=True)
def worked_out_once() -> Iterator[None]:
    """Fit and forecast the same flies but once: both are pure, and the shops of these tests are few."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(learning, "fit_shop", remembered(learning.fit_shop))
        patch.setattr(predicting, "forecast", remembered(predicting.forecast))
        yield


def remembered(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return a pure function that remembers what it returned for which arguments, a fitted shop by its identity."""
    known: dict[Any, tuple[Any, Any]] = {}

    def call(*arguments: Any) -> Any:
        key = tuple(_key(tuple(one) if isinstance(one, list) else one) for one in arguments)
        if key not in known:
            known[key] = (
                arguments,
                function(*arguments),
            )  # the arguments stay, so that no identity is used twice
        return known[key][1]

    return call


def _key(argument: Any) -> Any:
    try:
        hash(argument)
    except TypeError:
        return id(argument)
    return argument


@pytest.fixture(scope="session")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return sinking_shop(tmp_path_factory.mktemp("stocked") / "shop.sqlite")


@pytest.fixture
def catalog(stocked: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    path = tmp_path / "shop.sqlite"
    shutil.copy(stocked, path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    return open_catalog(str(path))


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> Run:
    return lambda *arguments: flybench(capsys, *arguments)


@pytest.fixture
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a way to run commands on a shop where nothing was measured."""
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "empty.sqlite"))
    shop(tmp_path / "empty.sqlite").engine.dispose()
    return lambda *arguments: flybench(capsys, *arguments)
