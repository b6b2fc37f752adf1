"""The commands that every noun of the catalog has: add, list, show, change, remove."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from flybench.catalog.search import cells
from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.nouns import NOUNS
from flybench.cli.options.catalog import Command, catalog_option, opened, opened_or_made
from flybench.cli.options.output import json_option, said
from flybench.files import whole_file
from flybench.jobs.shelf.details import about
from flybench.jobs.shelf.rows import add_row, change_row, list_rows, remove_row, show_row
from flybench.jobs.shelf.spreadsheet import as_csv, import_csv
from flybench.telling.catalog_rows import details, table
from flybench.telling.parts import as_lines

VERBS = ("add", "list", "show", "change", "remove", "import-csv")


def counted(noun: Noun, count: int) -> str:
    """Return a number of things in words."""
    return f"{count} {noun.name if count == 1 else noun.plural}"


def add_verbs(group: click.Group, name: str, verbs: tuple[str, ...] = VERBS) -> None:
    """Add the usual verbs of a noun to its group."""
    noun = NOUNS[name]
    makers = {
        "add": _add,
        "list": _list,
        "show": _show,
        "change": _change,
        "remove": _remove,
        "import-csv": _import,
    }
    for verb in verbs:
        group.add_command(makers[verb](noun))


def _settable(noun: Noun, new: bool) -> Callable[[Command], Command]:
    """Give a command an option for each field that can be set."""
    fields = [field for field in noun.fields.values() if field.settable and field.name != "code"]

    def give(command: Command) -> Command:
        for field in reversed(fields):
            required = " (needed)" if new and field.needed else ""
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
        return f', such as "{_EXAMPLES[field.display.unit]}"'
    return ", such as 2026-03-14" if field.kind == "date" else ""


_EXAMPLES = {"mm": "2.8 mm", "mg": "0.21 g +- 1 mg", "cm/s": "28 cm/s", "kg/m3": "7800 kg/m**3"}


def _given(options: dict[str, str | None]) -> dict[str, str]:
    return {name: text for name, text in options.items() if text is not None}


def _add(noun: Noun) -> click.Command:
    @click.command("add", help=f"Add a {noun.name} under CODE.")
    @click.argument("code")
    @_settable(noun, new=True)
    @catalog_option
    @json_option
    def command(code: str, address: str | None, as_json: bool, **options: str | None) -> None:
        row = add_row(opened_or_made(address), noun, {"code": code, **_given(options)})
        said(cells.as_record(noun, row)) if as_json else click.echo(f"Added {noun.name} {row['code']}.")

    return command


def _change(noun: Noun) -> click.Command:
    @click.command("change", help=f'Change fields of the {noun.name} CODE; an empty text "" empties one.')
    @click.argument("code")
    @click.option("--code", "new_code", metavar="TEXT", help="New code.")
    @_settable(noun, new=False)
    @catalog_option
    @json_option
    def command(
        code: str, new_code: str | None, address: str | None, as_json: bool, **options: str | None
    ) -> None:
        given = _given(options | {"code": new_code})
        row = change_row(opened(address), noun, code, given)
        said(cells.as_record(noun, row)) if as_json else click.echo(f"Changed {noun.name} {row['code']}.")

    return command


def _remove(noun: Noun) -> click.Command:
    @click.command("remove", help=f"Remove the {noun.name} CODE; refused while anything refers to it.")
    @click.argument("code")
    @click.option("--yes", is_flag=True, help="Do not ask.")
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
    @click.command("show", help=f"Show everything known of one {noun.name}.")
    @click.argument("code", metavar=noun.key.upper())
    @catalog_option
    @json_option
    def command(code: str, address: str | None, as_json: bool) -> None:
        catalog = opened(address)
        row = show_row(catalog, noun, code)
        more = about(catalog, noun.name, row["code"]) if noun.key == "code" else {}
        if as_json:
            said(cells.as_record(noun, row) | more)
        else:
            click.echo("\n".join(details(noun, row) + as_lines(more)))

    return command


def _list(noun: Noun) -> click.Command:
    @click.command(
        "list", help=f"List {noun.plural} that QUERY finds, all of them without one.", epilog=_QUERY_HELP
    )
    @click.argument("query", nargs=-1)
    @click.option("--sort", default="", metavar="FIELDS", help="Fields to sort by, as in bead,-sink.")
    @click.option(
        "--limit",
        type=click.IntRange(0, 10_000_000),
        default=100,
        show_default=True,
        help="Most rows; 0: all.",
    )
    @click.option("--fields", default="", metavar="FIELDS", help="Fields to show, as in code,bead,sink.")
    @click.option(
        "--csv", "csv_to", metavar="FILE", help="All fields as CSV to a file, or - for standard output."
    )
    @click.option("--format", "pattern", metavar="TEXT", help='A line per row, as in "{code}: {sink}".')
    @catalog_option
    @json_option
    def command(
        query: tuple[str, ...],
        sort: str,
        limit: int,
        fields: str,
        pattern: str | None,
        csv_to: str | None,
        address: str | None,
        as_json: bool,
    ) -> None:
        if csv_to is not None:
            _to_csv(noun, list_rows(opened(address), noun, query, sort).rows, csv_to)
            return
        names, fill = _wanted(noun, fields, pattern)
        page = list_rows(opened(address), noun, query, sort, limit, cells.needed_for(noun, names))
        if as_json:
            said([cells.as_record(noun, row) for row in page.rows])
        elif fill is not None:
            click.echo("\n".join(fill(row) for row in page.rows), nl=bool(page.rows))
        else:
            _print_table(noun, page.rows, names)
        if page.total > len(page.rows):
            click.echo(f"{page.total - len(page.rows)} more; raise --limit or narrow the query.", err=True)

    return command


def _to_csv(noun: Noun, rows: list[dict[str, Any]], target: str) -> None:
    text = as_csv(noun, rows)
    if target == "-":
        click.echo(text, nl=False)
        return
    with whole_file(Path(target)) as part:
        part.write_bytes(text.encode())
    click.echo(f"{counted(noun, len(rows))}: {click.format_filename(target)}", err=True)


def _import(noun: Noun) -> click.Command:
    @click.command("import-csv", help=f"Add {noun.plural} from a CSV file, all of them or none.")
    @click.argument("file", type=click.Path(path_type=Path))
    @catalog_option
    @json_option
    def command(file: Path, address: str | None, as_json: bool) -> None:
        count = import_csv(opened_or_made(address), noun, file)
        said({"added": count}) if as_json else click.echo(f"Added {counted(noun, count)}.")

    return command


def _wanted(
    noun: Noun, fields: str, pattern: str | None
) -> tuple[list[str], Callable[[dict[str, Any]], str] | None]:
    if pattern is not None:
        return cells.template(noun, pattern)
    return ([name for name in fields.split(",") if name.strip()] or list(noun.shown)), None


def _print_table(noun: Noun, rows: list[dict[str, Any]], names: list[str]) -> None:
    if not rows:
        click.echo(f"No {noun.plural} found.", err=True)
        return
    head, *lines = table(noun, rows, names)
    click.echo(click.style(head, bold=True))
    for line in lines:
        click.echo(line)


_QUERY_HELP = """\b
Queries:
  bead:2.8 hook:14            both hold; 2.8 means 2.75 to 2.85
  sink:25..35  stock:>0       ranges, in the units shown
  style:hackled,dubbed        either one
  not retired:any             "any" and "none": has a value, has none
  metal:brass or hook:16      either side
  hare "grey hen"             words in code, name, notes or recipe"""
