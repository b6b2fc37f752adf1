"""The query language: words of a query to a tree of conditions; nothing here knows of tables.

    bead:2.8 metal:tungsten style:hackled,dubbed sink:25..35 stock>0 not retired:any hare

Conditions side by side must all hold, with or without ``and`` between them; ``or`` stands between two sets of them;
``not`` wants the opposite of the condition behind it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from flybench.errors import BadValueError

OPERATORS = (">=", "<=", ">", "<", "=")
_OPERATOR = r"(?:>=|<=|!=|>|<|=)"
_KEY = r"(?!(?:and|or|not)(?:[\s<>=!]|$))[A-Za-z][A-Za-z_-]*"
_UNIT = r"(?:mm|cm|mg|g|mm/s|cm/s|m/s|in/s|ft/s)(?![^\s])"
_VALUE = rf'(?:"[^"]*"|[+-]?[0-9][0-9.,]*\s+{_UNIT}|[^\s"]+)'
_TOKEN = re.compile(
    rf'\s*({_KEY}(?::(?:{_OPERATOR}\s*)?|\s*{_OPERATOR}\s*){_VALUE}|"[^"]*"|[^\s"]+)', re.IGNORECASE
)
_KEYED = re.compile(rf"({_KEY})(?::|\s*(?={_OPERATOR}))({_OPERATOR}?)\s*(.*)", re.DOTALL | re.IGNORECASE)
_LONGEST = 2000
"""Letters of a query (judgement: longer ones are slips, such as a file pasted in)."""


@dataclass(frozen=True)
class Term:
    """One condition: ``key`` is "" for a bare word; ``wanted`` are alternatives as written."""

    key: str
    wanted: tuple[str, ...]
    negated: bool = False


@dataclass(frozen=True)
class Query:
    """Alternatives, each a list of terms that must all hold; no alternative at all means everything."""

    alternatives: tuple[tuple[Term, ...], ...]

    @property
    def terms(self) -> list[Term]:
        """Return all conditions, in the order in which they were written."""
        return [term for terms in self.alternatives for term in terms]


def parse_query(words: str | Sequence[str]) -> Query:
    """Return the tree of a query given as one text or as the words of a command line.

    Raises BadValueError for a quote that is not closed, a bracket, an empty value, or ``and``, ``or`` and ``not``
    without terms.
    """
    text = words if isinstance(words, str) else " ".join(map(_requoted, words))
    if len(text) > _LONGEST:
        raise BadValueError("query", f"is {len(text)} letters long", f"Use at most {_LONGEST} letters")
    reader = _Reader()
    for token in _tokens(text):
        reader.take(token)
    return reader.query()


class _Reader:
    """What was read of a query so far."""

    def __init__(self) -> None:
        self.alternatives: list[tuple[Term, ...]] = []
        self.terms: list[Term] = []
        self.open = ""
        """The ``and`` or ``not`` that still wants a condition behind it."""

    def take(self, token: str) -> None:
        """Read one word of the query, or one condition."""
        word = token.lower()
        if word == "or":
            self._close()
        elif word == "and":
            _check_terms(self.terms, self.open, "and")
            self.open = "and"
        elif word == "not":
            if self.open == "not":
                raise BadValueError("query", 'has "not" twice in a row', "Write it once")
            self.open = "not"
        else:
            self.terms.append(_term(token, self.open == "not"))
            self.open = ""

    def query(self) -> Query:
        """Return what was read, once there are no more words."""
        if self.alternatives or self.terms or self.open:
            self._close()
        return Query(tuple(self.alternatives))

    def _close(self) -> None:
        _check_terms(self.terms, self.open, "or")
        self.alternatives.append(tuple(self.terms))
        self.terms = []


def narrowed(words: str | Sequence[str], more: str) -> Query:
    """Return a query, each alternative of which must hold the terms of ``more`` too."""
    extra = parse_query(more).alternatives
    terms = extra[0] if extra else ()
    return Query(tuple(one + terms for one in parse_query(words).alternatives or ((),)))


def _requoted(word: str) -> str:
    """Return a word of a command line as it was meant: one with a blank in it was quoted there."""
    keyed = _KEYED.fullmatch(word)
    if keyed and " " in keyed[3] and not re.search(r'[:<>="]', keyed[3]):
        return f'{keyed[1]}:{keyed[2]}"{keyed[3]}"'
    return word


def _tokens(text: str) -> list[str]:
    if text.count('"') % 2:
        raise BadValueError(
            "query", f"{text} has a quotation mark without its second one", 'Write it as "two words"'
        )
    return _TOKEN.findall(text)


def _check_terms(terms: list[Term], still_open: str, word: str) -> None:
    if still_open == "not":
        raise BadValueError(
            "query",
            'has "not" with nothing behind it',
            "Write what is not wanted behind it, such as: not bead:any",
        )
    if not terms or still_open:
        wrong = still_open or word
        raise BadValueError(
            "query",
            f'has "{wrong}" without a condition on each side',
            f"Write it as: hook:14 {wrong} hook:16" if wrong == "or" else "Write it as: hook:14 and bead:2.8",
        )


def _term(token: str, negated: bool) -> Term:
    keyed = _KEYED.fullmatch(token)
    if keyed is None:
        if re.match(rf"\(\s*{_KEY}\s*(?::|{_OPERATOR})", token):
            raise BadValueError(
                "query", f'"{token}" begins with a bracket', "Write both sets in full, with or between them"
            )
        return Term("", (token.strip('"'),), negated)
    key, operator, value = keyed[1].lower(), keyed[2], keyed[3]
    wanted = (value.strip('"'),) if value.startswith('"') else tuple(value.split(","))
    if any(not one.strip() for one in wanted) and not operator:
        raise BadValueError(
            "query", f'"{token}" has no value', f"Write it as {key}:VALUE, or {key}:any, {key}:none"
        )
    if operator == "!=":
        return Term(key, wanted, not negated)
    return Term(key, (operator + wanted[0], *wanted[1:]), negated)


@dataclass(frozen=True)
class Span:
    """A range as written: either end may be open; ``same`` marks a single value."""

    low: str | None
    high: str | None
    low_open: bool = False
    high_open: bool = False
    same: bool = False


def span_of(text: str) -> Span:
    """Return the range that a value such as 25..35, >3, <=2.8 or 14 stands for.

    Raises BadValueError where both ends are missing.
    """
    if ".." in text:
        low, high = (end.strip() or None for end in text.split("..", 1))
        if low is None and high is None:
            raise BadValueError(
                "query", f'"{text}" has neither a lower nor an upper end', "Write it as 25..35, 25.. or ..35"
            )
        return Span(low, high)
    for operator in OPERATORS:
        if text.startswith(operator):
            number = text[len(operator) :].strip()
            if not number:
                raise BadValueError("query", f'"{text}" has no number', f"Write it as {operator}25")
            if operator == "=":
                return Span(number, number, same=True)
            strict = len(operator) == 1
            return (
                Span(number, None, low_open=strict)
                if operator[0] == ">"
                else Span(None, number, high_open=strict)
            )
    return Span(text, text, same=True)
