"""Pages of the documentation as commands to run, in order, with what the page says they print.

In a page, every line of a ```sh block that begins with "flybench" is run (lines that end in a backslash go on). A ```text
block right after a ```sh block is what its commands, or the last of them, print on standard output: a line "..." stands
for any words, lines may be broken elsewhere, and a number may differ by two in its last place, as newer libraries round
otherwise. What has to be there before the page begins stands in an HTML comment, one command a comment:
<!-- before: flybench pattern import catalog -->
"""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass, replace
from pathlib import Path

_PARTS = re.compile(r"^<!-- before: (?P<before>.*?) -->$|^```(?P<kind>\w*)\n(?P<body>.*?)^```$", re.M | re.S)
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_LAST_PLACES = 2


@dataclass(frozen=True)
class Step:
    """One command of a page: its words, whether it begins a block, and what that block is said to print.

    ``printed`` stands at the last command of a block; None where the page does not say.
    """

    words: tuple[str, ...]
    begins: bool
    printed: str | None = None

    @property
    def text(self) -> str:
        return shlex.join(self.words)


def steps_of(page: Path) -> list[Step]:
    """Return the commands of a page in order."""
    steps: list[Step] = []
    after_command = False
    text = page.read_text(encoding="utf-8")
    last_end = 0
    for part in _PARTS.finditer(text):
        between = text[last_end : part.start()].strip()
        last_end = part.end()
        if part["before"]:
            steps += _commands(part["before"])
        elif part["kind"] == "sh":
            found = _commands(part["body"])
            steps += found
            after_command = bool(found)
            continue
        elif part["kind"] == "text" and after_command and not between:
            steps[-1] = replace(steps[-1], printed=part["body"])
        after_command = False
    return steps


def _commands(body: str) -> list[Step]:
    lines = body.replace("\\\n", " ").splitlines()
    found = [tuple(shlex.split(line)[1:]) for line in lines if line.startswith("flybench ")]
    return [Step(words, place == 0) for place, words in enumerate(found)]


def says(printed: str, said: str) -> bool:
    """Tell whether what was printed is what a page says, wherever lines break; numbers within two of their last place."""
    parts: list[list[str]] = [[]]
    for line in said.splitlines():
        if line.strip() == "...":
            parts.append([])
        else:
            parts[-1] += line.split()
    return _match(printed.split(), parts)


def _match(mine: list[str], parts: list[list[str]]) -> bool:
    """Tell whether words begin with the first part, end with the last, and hold those between in order."""
    first, *rest = parts
    if not _alike(mine[: len(first)], first):
        return False
    mine = mine[len(first) :]
    if not rest:
        return not mine
    return any(_match(mine[place:], rest) for place in range(len(mine) - len(rest[0]) + 1))


def _alike(mine: list[str], theirs: list[str]) -> bool:
    return len(mine) == len(theirs) and all(_same(*pair) for pair in zip(mine, theirs, strict=True))


def _same(mine: str, theirs: str) -> bool:
    if _NUMBER.sub("0", mine) != _NUMBER.sub("0", theirs):
        return False
    pairs = zip(_NUMBER.findall(mine), _NUMBER.findall(theirs), strict=True)
    return all(abs(float(one) - float(other)) <= _LAST_PLACES * _place(other) * 1.001 for one, other in pairs)


def _place(number: str) -> float:
    return 10.0 ** -len(number.partition(".")[2])
