"""Labels for what a query finds: what stands on them, how many there are, and what is refused. All flies are invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from console import flybench

from flybench.catalog.store.open import Catalog, open_catalog
from flybench.errors import FlybenchError
from flybench.jobs.printed.labels import labels_for, print_labels
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.trade.money import set_money
from flybench.paper.label.label_paper import DEFAULT_LABEL_PAPER, label_paper_named

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    opened = open_catalog(str(tmp_path_factory.mktemp("labels") / "c.sqlite"))
    import_recipes(opened, [ROOT / "catalog" / "ashpit-thimble.toml", ROOT / "catalog" / "moss-hackle.toml"])
    return opened


def test_a_label_says_what_the_recipe_says(catalog: Catalog) -> None:
    """As it stands in catalog/ashpit-thimble.toml."""
    first, second = sorted(
        labels_for(catalog, ["ashpit"], currency="EUR", note="dry well"), key=lambda label: label.code
    )
    assert (first.code, first.name, first.hook) == ("ashpit-thimble-16", "Ashpit Thimble", "hook 16")
    assert (first.bead, first.price, first.note) == ("2.5 mm tungsten countersunk", "EUR 2.20", "dry well")
    assert (first.qr, first.speed, first.band) == ("ashpit-thimble-16", None, None)
    assert (second.code, second.bead) == ("ashpit-thimble-18", "2 mm tungsten countersunk")


def test_copies_and_fields_of_the_qr_code(catalog: Catalog) -> None:
    three = labels_for(catalog, ["ashpit-thimble-16"], copies=3)
    assert [label.code for label in three] == ["ashpit-thimble-16"] * 3
    (label,) = labels_for(
        catalog, ["ashpit-thimble-16"], qr=["code", "price"], qr_before="https://flies.example/"
    )
    assert label.qr == "https://flies.example/ashpit-thimble-16 2.20"
    (label,) = labels_for(catalog, ["ashpit-thimble-16"], qr=[])
    assert label.qr is None


def test_prices_are_in_the_currency_of_the_catalog(tmp_path: Path) -> None:
    opened = open_catalog(str(tmp_path / "c.sqlite"))
    import_recipes(opened, [ROOT / "catalog" / "ashpit-thimble.toml"])
    set_money(opened, "SEK", None)
    assert [label.price for label in labels_for(opened, [])] == ["SEK 2.20", "SEK 2.20"]
    assert [label.price for label in labels_for(opened, [], currency="EUR")] == ["EUR 2.20", "EUR 2.20"]


@pytest.mark.parametrize(
    ("query", "what", "message"),
    [
        (
            "nothing-like-it",
            {},
            "There are no labels to print: the query finds nothing, or nothing in stock. Widen the query, or leave "
            "--stock out.",
        ),
        (
            "ashpit",
            {"copies": None},
            "There are no labels to print: the query finds nothing, or nothing in stock. Widen the query, or leave "
            "--stock out.",
        ),
        ("ashpit", {"copies": 2501}, "labels: 5002 are too many. Print at most 5000 at a time."),
        ("ashpit", {"qr": ["cod"]}, '--qr: variants have no field "cod". Did you mean code?'),
    ],
)
def test_what_cannot_be_printed_is_refused(
    query: str, what: dict[str, object], message: str, catalog: Catalog
) -> None:
    with pytest.raises(FlybenchError) as told:
        labels_for(catalog, [query], **what)  # type: ignore[arg-type]
    assert str(told.value) == message


@pytest.mark.slow
def test_a_file_that_exists_is_only_replaced_when_asked(catalog: Catalog, tmp_path: Path) -> None:
    paper, path = label_paper_named(DEFAULT_LABEL_PAPER), tmp_path / "labels.pdf"
    path.write_bytes(b"mine")
    with pytest.raises(FlybenchError) as told:
        print_labels(catalog, ["ashpit"], paper, path)
    assert str(told.value) == f"{path}: exists already. Name another file, or add --overwrite to replace it."
    assert path.read_bytes() == b"mine"
    printed = print_labels(catalog, ["ashpit"], paper, path, overwrite=True)
    assert (printed.count, printed.pages) == (2, 1)
    assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--across", "3"],
            "--paper, --across, --down, --label-size: all four are needed for label paper of your own, as in "
            '--paper a4 --across 3 --down 8 --label-size "70x37 mm". Add what is missing.',
        ),
        (
            ["--label-paper", "a4-3x8-70x37", "--across", "3"],
            "--label-paper: names a label paper, and other options describe one of your own. Give one or the other.",
        ),
        (
            ["--output", "labels.png"],
            "--output: labels.png does not end in .pdf. Labels are written as PDF: name it so.",
        ),
        (["--skip", "24"], "--skip: 24 is outside 0 to 23. A page holds 24 labels."),
    ],
)
def test_options_that_do_not_fit_are_refused(
    options: list[str],
    message: str,
    catalog: Catalog,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(catalog.url.database))
    said = flybench(capsys, "print", "labels", "name:ashpit", *options)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")
    assert list(tmp_path.iterdir()) == []


def test_label_paper_of_ones_own_and_machine_form(
    catalog: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(catalog.url.database))
    own = [
        "--paper",
        "letter",
        "--across",
        "3",
        "--down",
        "10",
        "--label-size",
        "2.625x1 in",
        "--between",
        "0.125x0 in",
    ]
    said = flybench(capsys, "print", "labels", "name:ashpit", *own, "--json")
    assert (said.code, said.err) == (0, "Wrote labels.pdf\n")
    assert said.out.startswith('{\n "file": "labels.pdf",\n "labels": 2,\n "pages": 1,\n')
