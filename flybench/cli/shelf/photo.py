"""`flybench fly photo`, `flybench variant photo` and `flybench pattern photo`."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened, say
from flybench.cli.options.output import json_option, said


def photo_command(noun: str) -> click.Command:
    """Return the command that adds, lists and takes away photos of this noun."""

    @click.command(
        name="photo",
        help=f"List the photos of the {noun} CODE; add the picture FILE, or take one off with --remove.\n\n"
        "A picture is made anew from its pixels, at most 1600 of them a side: where it was taken, and all else that a "
        "phone writes into a file, is not kept.",
    )
    @click.argument("code")
    @click.argument("file", required=False, type=click.Path(path_type=Path))
    @click.option("--caption", default="", metavar="TEXT", help="What the picture shows.")
    @click.option("--remove", "name", metavar="NAME", help="Take the photo of this name off.")
    @catalog_option
    @json_option
    def command(
        code: str, file: Path | None, caption: str, name: str | None, address: str | None, as_json: bool
    ) -> None:
        if name is not None and file is not None:
            raise click.UsageError("Give a FILE to add, or --remove NAME, not both.")
        if caption and file is None:
            raise click.UsageError("--caption goes with a FILE to add.")
        from flybench.jobs.photos import photos  # loads Pillow
        from flybench.telling.photos import kept as telling

        catalog = opened(address)
        if file is None and name is None:
            found = photos.photos_of(catalog, noun, code)
            if as_json:
                said([telling.record(one) for one in found])
            else:
                click.echo("\n".join(telling.lines(found, noun, code)))
            return
        if file is not None:
            one = photos.add_photo(catalog, noun, code, file, caption)
            line = telling.added(one)
        else:
            one = photos.remove_photo(catalog, noun, code, name or "")
            line = telling.removed(one)
        if as_json:
            said(telling.record(one))
        else:
            say(line)

    return command
