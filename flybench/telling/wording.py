"""Numbers of things in words, counted right."""

from __future__ import annotations

from collections.abc import Sequence


def counted(count: int, one: str, many: str | None = None) -> str:
    """Return a number of things in words: "1 fly", "3 flies"; the plural is ``one`` with an s where not given.

    >>> counted(1, "rig"), counted(2, "fly", "flies")
    ('1 rig', '2 flies')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(names: Sequence[str], last: str = "and") -> str:
    """Return names as one writes them in a sentence.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def few(names: Sequence[str], most: int) -> str:
    """Return names as one writes them in a sentence, of a long list the first ``most`` and how many more there are.

    >>> few(["a", "b", "c", "d"], 2), few(["a", "b"], 2)
    ('a, b and 2 more', 'a and b')
    """
    return listed([*names[:most], f"{len(names) - most} more"] if len(names) > most else names)
