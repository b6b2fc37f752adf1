"""Write the parts of the documentation that come from the program: ``python docs/make.py [--texts | --outings]``."""

from __future__ import annotations

import argparse
import ast
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click

from flybench.bench.sheet.keys import QUANTITIES
from flybench.catalog.recipe.photos import MOST_PHOTOS
from flybench.catalog.recipe.schema import keys_tables, schema_text
from flybench.cli import root
from flybench.telling.flags import flags_page

DOCS = Path(__file__).resolve().parent
PACKAGE = DOCS.parent / "flybench"
GUIDE = DOCS.parent / "DEVELOPERS.md"


def commands_page() -> str:
    """Return docs/commands.md from the --help of every command."""
    parts = ["# Commands\n\nMade from the program by `python docs/make.py`.\n"]
    for name, command in _commands("flybench", root):
        wide = {"max_content_width": 100, "terminal_width": 100, "help_option_names": ["-h", "--help"]}
        context = click.Context(command, info_name=name, **wide)
        parts.append(f"## {name}\n\n```text\n{command.get_help(context).rstrip()}\n```\n")
    return "\n".join(parts)


def _commands(name: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command, help_option_names=["-h", "--help"])
        for verb in command.list_commands(context):
            below = command.get_command(context, verb)
            assert below is not None
            yield from _commands(f"{name} {verb}", below)


def sheet_page() -> str:
    """Return docs/sheet.md: the hand-written part with the table of keys put in."""
    rows = [f'| `{key}` | `"{q.example}"` | {q.meaning} |' for key, q in QUANTITIES.items()]
    table = "| key | example | meaning |\n|---|---|---|\n" + "\n".join(rows)
    return (DOCS / "sheet.in.md").read_text(encoding="utf-8").replace("@KEYS@", table)


MAP_BEGINS, MAP_ENDS = "<!-- map: made by docs/make.py -->\n", "<!-- end of map -->"


def map_of_package() -> str:
    """Return the map of the package: each folder and file with the first line of its docstring."""
    lines = []
    for folder in sorted({path.parent for path in PACKAGE.rglob("*.py")}):
        depth = len(folder.relative_to(PACKAGE).parts)
        lines.append(f"{'  ' * depth}{folder.name}/  {_first_line(folder / '__init__.py')}")
        for file in sorted(folder.glob("*.py")):
            if not file.stem.startswith("__"):
                lines.append(f"{'  ' * (depth + 1)}{file.name}  {_first_line(file)}")
    return "```text\n" + "\n".join(lines) + "\n```\n"


def _first_line(file: Path) -> str:
    return (ast.get_docstring(ast.parse(file.read_text(encoding="utf-8"))) or "").split("\n")[0]


def map_in(guide: Path) -> str:
    """Return the map that stands in a guide."""
    return guide.read_text(encoding="utf-8").split(MAP_BEGINS)[1].split(MAP_ENDS)[0]


OUTINGS_BEGIN, OUTINGS_END = "<!-- outings: made by docs/make.py -->\n", "<!-- end of outings -->"


def write_outings() -> None:
    """Write the table of twelve outings into docs/rig.md: half a minute of work."""
    import outings  # beside this file

    page = DOCS / "rig.md"
    before, rest = page.read_text(encoding="utf-8").split(OUTINGS_BEGIN)
    made = f"\n{outings.box_line()}\n{outings.table()}\n"
    page.write_text(
        before + OUTINGS_BEGIN + made + OUTINGS_END + rest.split(OUTINGS_END)[1], encoding="utf-8"
    )


def recipes_page() -> str:
    """Return docs/recipes.md: the hand-written part with a whole recipe and the tables of keys put in."""
    example = (DOCS.parent / "catalog" / "ashpit-thimble.toml").read_text(encoding="utf-8").rstrip()
    page = (DOCS / "recipes.in.md").read_text(encoding="utf-8")
    return (
        page.replace("@EXAMPLE@", example)
        .replace("@KEYS@", keys_tables())
        .replace("@PHOTOS@", str(MOST_PHOTOS))
    )


TEXTS = {
    "flags.md": flags_page,
    "commands.md": commands_page,
    "sheet.md": sheet_page,
    "recipe.schema.json": schema_text,
    "recipes.md": recipes_page,
}


def write_texts() -> None:
    """Write the generated pages."""
    for name, page in TEXTS.items():
        (DOCS / name).write_text(page(), encoding="utf-8")
    before, rest = GUIDE.read_text(encoding="utf-8").split(MAP_BEGINS)
    GUIDE.write_text(
        before + MAP_BEGINS + map_of_package() + MAP_ENDS + rest.split(MAP_ENDS)[1], encoding="utf-8"
    )


def write_pictures() -> None:
    """Run the demo and keep a report page, a drift, a still of the overlay and the card."""
    import cv2
    import drawings  # beside this file
    import pypdfium2

    from flybench.jobs.demo import run_demo
    from flybench.telling.bench.demo import step_lines

    drawings.tank(DOCS / "pictures" / "tank.png")
    drawings.rig(DOCS / "pictures" / "rig.png")
    drawings.entries(DOCS / "pictures" / "entries.png")
    with tempfile.TemporaryDirectory() as name:
        place, _ = run_demo(
            Path(name), lambda step: click.echo("\n".join(step_lines(step))), lambda what, done, whole: None
        )
        shutil.copyfile(place / "moss-hackle.png", DOCS / "pictures" / "report.png")
        shutil.copyfile(place / "drift.png", DOCS / "pictures" / "drift.png")
        video = cv2.VideoCapture(str(place / "moss-hackle-drawn.mp4"))
        video.set(cv2.CAP_PROP_POS_FRAMES, 75)
        cv2.imwrite(str(DOCS / "pictures" / "overlay.png"), video.read()[1])
        card = pypdfium2.PdfDocument(place / "scale-card-a4.pdf")
        card[0].render(scale=0.7).to_pil().save(DOCS / "pictures" / "card.png")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--texts", action="store_true", help="write only the texts that take no time")
    parser.add_argument("--outings", action="store_true", help="write only the table of twelve outings")
    wanted = parser.parse_args()
    if not wanted.outings:
        write_texts()
    if not wanted.texts:
        write_outings()
    if not wanted.texts and not wanted.outings:
        write_pictures()
