"""The one error class that reaches the user as a message instead of a traceback."""

from __future__ import annotations


class FlybenchError(Exception):
    """Something the user can put right: what is wrong, which value, which limit, what to do.

    The command line catches it in one place, prints ``Error: <message>`` on standard error and
    ends with exit code 1.
    """


class BadValueError(FlybenchError):
    """A value that cannot be used.

    ``key`` names the sheet key, option or argument it came from, as the user typed it; ``problem`` says what is
    wrong with which value and which limit, ``cure`` what to do.
    """

    def __init__(self, key: str, problem: str, cure: str) -> None:
        """Join the three parts into one sentence each."""
        ending = "" if cure.endswith((".", "?")) else "."
        super().__init__(f"{key}: {problem}. {cure}{ending}")
        self.key, self.problem, self.cure = key, problem, cure

    def named(self, key: str) -> BadValueError:
        """Return the same error under the name by which this user knows the value, such as an option's."""
        return BadValueError(key, self.problem, self.cure)
