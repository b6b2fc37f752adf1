"""The commands that every kind of thing in the catalog has: add, list, show, change, rename, retire, remove, import-csv."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

from flybench.catalog.search.cells import needed_for
from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Page
from flybench.catalog.store.open import Catalog
from flybench.cli.options.catalog import Command, catalog_option, opened, opened_or_made, say
from flybench.cli.options.output import json_option, overwrite_option, said, yes_option
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import show
from flybench.cli.shelf.renaming import rename, retire
from flybench.cli.trade.import_csv import import_from_csv
from flybench.errors import BadValueError, FlybenchError
from flybench.files import check_new
from flybench.jobs.shelf.details import details_of
from flybench.jobs.shelf.rows import NUMBERED, add_row, change_row, list_rows, remove_row, show_row
from flybench.jobs.shelf.spreadsheet import as_csv, write_csv
from flybench.telling.shelf import catalog_rows as telling
from flybench.telling.sink import one_water

VERBS = ("add", "list", "show", "change", "rename", "retire", "remove", "import-csv")


def add_verbs(group: click.Group, name: str, verbs: tuple[str, ...] = VERBS) -> None:
    """Add the usual commands of a kind of thing to its group."""
    noun = NOUNS[name]
    makers = {
        "add": _add,
        "list": _list,
        "show": _show,
        "change": _change,
        "remove": _remove,
        "rename": rename,
        "retire": retire,
        "import-csv": import_from_csv,
    }
    for verb in verbs:
        group.add_command(makers[verb](noun))


def _options(noun: Noun, new: bool) -> Callable[[Command], Command]:
    """Give a command an option for each field that can be set."""
    fields = [field for field in noun.fields.values() if field.settable and field.name != "code"]

    def give(command: Command) -> Command:
        for field in reversed(fields):
            required = "  [needed]" if new and field.needed else ""
            command = click.option(
                f"--{field.name}",
                field.name.replace("-", "_"),
                metavar=_metavar(field),
                help=f"{field.what}{_hint(field)}.{required}",
            )(command)
        return command

    return give


def _metavar(field: Field) -> str:
    return {"quantity": "QUANTITY", "count": "N", "number": "N", "money": "AMOUNT", "date": "DATE"}.get(
        field.kind, "CODE" if field.kind == "code" else "TEXT"
    )


def _hint(field: Field) -> str:
    if field.choices is not None:
        return ": " + ", ".join(str(member.value) for member in field.choices)
    if field.display is not None:
        spread = " +- 1 mg" if field.plus_minus else ""
        return f', such as "{field.display.example}{spread}"'
    return ", such as 2026-03-14" if field.kind == "date" else ""


def _given(options: dict[str, str | None]) -> dict[str, str]:
    return {name.replace("_", "-"): text for name, text in options.items() if text is not None}


@contextmanager
def _as_typed(*options: str) -> Iterator[None]:
    """Put the two dashes of an option before the name of a value that is refused.

    ``options`` are names without dashes; errors about anything else are left as they are.
    """
    try:
        yield
    except BadValueError as error:
        if error.key not in options:
            raise
        raise FlybenchError(f"--{error}") from error


def _add(noun: Noun) -> click.Command:
    ending = "; without CODE it gets the next number" if noun.name in NUMBERED else ""

    @click.command("add", help=f"Add a {noun.name} under CODE{ending}.")
    @click.argument("code", required=noun.name not in NUMBERED)
    @_options(noun, new=True)
    @catalog_option
    @json_option
    def command(code: str | None, address: str | None, as_json: bool, **options: str | None) -> None:
        with _as_typed(*(name for name in noun.fields if name != "code")):
            row = add_row(opened_or_made(address), noun, _given(options | {"code": code}))
        said(telling.record(noun, row)) if as_json else click.echo(f"Added {noun.name} {row['code']}.")

    return command


def _change(noun: Noun) -> click.Command:
    @click.command(
        "change", help=f'Change fields of the {noun.name} CODE. An empty text "" takes a value away.'
    )
    @click.argument("code")
    @click.option("--code", "new_code", metavar="TEXT", help="New code.")
    @_options(noun, new=False)
    @catalog_option
    @json_option
    def command(
        code: str, new_code: str | None, address: str | None, as_json: bool, **options: str | None
    ) -> None:
        with _as_typed(*noun.fields):
            row = change_row(opened(address), noun, code, _given(options | {"code": new_code}))
        said(telling.record(noun, row)) if as_json else click.echo(f"Changed {noun.name} {row['code']}.")

    return command


def _remove(noun: Noun) -> click.Command:
    @click.command("remove", help=f"Remove the {noun.name} CODE, if nothing else needs it.")
    @click.argument("code")
    @yes_option
    @catalog_option
    @json_option
    def command(code: str, yes: bool, address: str | None, as_json: bool) -> None:
        catalog = opened(address)
        found = show_row(catalog, noun, code)["code"]
        if not yes:
            click.confirm(f"Remove {noun.name} {found}?", abort=True, err=True)
        remove_row(catalog, noun, found)
        said({"removed": found}) if as_json else click.echo(f"Removed {noun.name} {found}.")

    return command


def _show(noun: Noun) -> click.Command:
    @click.command("show", help=f"Show everything that is known of one {noun.name}.")
    @click.argument("code", metavar=noun.key.upper())
    @catalog_option
    @json_option
    def command(code: str, address: str | None, as_json: bool) -> None:
        catalog = opened(address)
        row = show_row(catalog, noun, code)
        details = details_of(catalog, noun.name, row[noun.key])
        said(telling.record(noun, row, details)) if as_json else click.echo(
            "\n".join(telling.lines(noun, row, details))
        )

    return command


def _list(noun: Noun) -> click.Command:
    @click.command(
        "list",
        help=f"List the {noun.plural} that QUERY finds, or all of them.",
        epilog=_QUERY_HELP.format(columns=", ".join(_columns(noun))),
    )
    @click.argument("query", nargs=-1)
    @click.option(
        "--columns", default="", metavar="NAMES", help=f"Columns to show, such as {','.join(noun.shown[:3])}."
    )
    @click.option(
        "--sort",
        default="",
        metavar="NAMES",
        help=f'Columns to sort by, "down" behind one to begin with its highest, such as "{_sorted(noun)}".',
    )
    @click.option(
        "--limit",
        type=click.IntRange(0, 10_000_000),
        default=100,
        show_default=True,
        help="Most rows shown; 0 for all.",
    )
    @click.option("--csv", metavar="FILE", help="Write all columns and rows to a CSV file; - to the screen.")
    @overwrite_option
    @catalog_option
    @json_option
    def command(
        query: tuple[str, ...],
        columns: str,
        sort: str,
        limit: int,
        csv: str | None,
        overwrite: bool,
        address: str | None,
        as_json: bool,
    ) -> None:
        if csv is not None:
            if as_json or columns:
                raise click.UsageError("--csv writes all columns: leave off --json and --columns.")
            _to_csv(noun, query, sort, csv, overwrite, address)
        else:
            _to_screen(noun, query, columns, sort, limit, address, as_json)

    return command


def _to_csv(
    noun: Noun, query: tuple[str, ...], sort: str, target: str, overwrite: bool, address: str | None
) -> None:
    if target != "-":
        check_new(Path(target), overwrite)
    catalog = opened(address)
    say_how_read(noun.name, query)
    rows = list_rows(catalog, noun, query, sort).rows
    if target == "-":
        click.echo(as_csv(noun, rows), nl=False)
        return
    write_csv(noun, rows, Path(target))
    say(f"Wrote {click.format_filename(target)} with {telling.counted_rows(noun, len(rows))}")


def _to_screen(
    noun: Noun,
    query: tuple[str, ...],
    columns: str,
    sort: str,
    limit: int,
    address: str | None,
    as_json: bool,
) -> None:
    names = [name.strip() for name in columns.split(",") if name.strip()] or list(noun.shown)
    wanted = needed_for(noun, names if as_json else [*names, noun.key], "--columns")
    catalog = opened(address)
    say_how_read(noun.name, query)
    page = list_rows(catalog, noun, query, sort, limit, wanted)
    if as_json:
        said(telling.records(noun, page.rows))
        show([], telling.remarks(noun, page))
    elif not page.rows:
        show([], telling.remarks(noun, page))
    else:
        table = telling.row_table(noun, page.rows, names, fit=not columns)
        show(
            table.lines,
            [*telling.remarks(noun, page, table.left_out), *_notes(noun, page, names, catalog)],
        )


def _notes(noun: Noun, page: Page, names: Sequence[str], catalog: Catalog) -> list[str]:
    """Return which water the sink speeds of a list are for, where some were measured in another; of runs, which were timed
    by hand and do not count."""
    if noun.name == "run":
        from flybench.jobs.shelf.contradictions import filmed_instead

        return telling.by_hand(filmed_instead(catalog, [row["number"] for row in page.rows]))
    if noun.name not in ("fly", "variant") or "sink" not in names:
        return []
    from flybench.jobs.shelf.one_water import brought_codes  # loads scipy

    water, brought = brought_codes(catalog, noun.name, [row["code"] for row in page.rows])
    return one_water.notes(water, brought, [], how=False)


def _columns(noun: Noun) -> list[str]:
    return [name for name, field in noun.fields.items() if not field.hidden]


def _sorted(noun: Noun) -> str:
    return f"sink down, {noun.key}" if "sink" in noun.fields else f"name, {noun.key}"


_QUERY_HELP = """Columns, which are also the words before a colon in a query: {columns}.

\b
Queries:
  bead:2.8 hook:14            both must hold; 2.8 means from 2.75 to below 2.85
  bead:2,8  bead:"2.8 mm"     the same with a decimal comma, with a unit
  sink:25..35  "stock > 0"    from 25 to 35, more than 0, in the units shown
  style:hackled,dubbed        either of the two
  retired:any  sink:none      has a value, has none
  not metal:brass             anything else than brass
  metal:brass or hook:16      either side of "or" holds
  hare "grey hen"             words in code, name, notes or recipe"""
