"""Several clips in one go: each measured as if it were the only one, a failure of one told, one table at the end."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from flybench.bench.verdict.result import BenchResult
from flybench.errors import FlybenchError
from flybench.jobs.bench.measure import usual_page
from flybench.telling.bench.several import Outcome
from flybench.telling.wording import listed

Measure = Callable[[Path], BenchResult]


def check_several(clips: Sequence[Path], of_one_clip: Mapping[str, Any], *, pages: bool) -> None:
    """Refuse, before anything is measured, what can only be meant for one clip, and clips that would share a page.

    ``of_one_clip`` holds such options by their names. Raises UsageError, FlybenchError.
    """
    given = [name for name, value in of_one_clip.items() if value not in (None, ())]
    if given:
        verb, it = ("is", "it") if len(given) == 1 else ("are", "them")
        raise click.UsageError(
            f"{listed(given, 'and')} {verb} for one clip, and {len(clips)} were given. Leave {it} out, or measure that "
            "clip by itself. Each clip has its own sheet beside it."
        )
    seen: dict[Path, Path] = {}
    for clip in clips:
        if clip.resolve() in seen:
            raise click.UsageError(f"{clip}: is named twice. Name each clip once.")
        seen[clip.resolve()] = clip
    taken: dict[Path, Path] = {}
    for clip in clips if pages else ():
        page = usual_page(clip)
        if page in taken:
            raise FlybenchError(
                f"{taken[page]} and {clip}: would share the page {page} and the sheet. Rename one of them, or measure "
                "them one by one."
            )
        taken[page] = clip


def measured_one_by_one(clips: Sequence[Path], measure: Measure) -> list[Outcome]:
    """Measure clip after clip; what goes wrong with one is told on standard error, and the others go on."""
    outcomes = []
    for clip in clips:
        name = click.format_filename(clip)
        try:
            outcomes.append(Outcome(name, measure(clip)))
        except (FlybenchError, click.UsageError) as error:
            message = error.format_message() if isinstance(error, click.UsageError) else str(error)
            told = message if message.startswith(f"{clip}:") else f"{name}: {message}"
            click.echo(f"Error: {told}", err=True)
            outcomes.append(Outcome(name, None, message))
    return outcomes
