"""The query language: words of a query to a tree of conditions; nothing here knows of tables.

    bead:2.8 metal:tungsten style:hackled,dubbed sink:25..35 stock:>0 not retired:any hare

Conditions side by side must all hold; ``or`` stands between two sets of them; ``not`` wants the opposite of the
condition behind it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from flybench.errors import BadValueError

_TOKEN = re.compile(r'\s*((?:[^\s":]+:)?"[^"]*"|[^\s"]+)')
_KEYED = re.compile(r"([A-Za-z][A-Za-z-]*):(.*)", re.DOTALL)
_LONGEST = 2000
"""Letters of a query (judgement: longer ones are slips, such as a file pasted in)."""
OPERATORS = (">=", "<=", ">", "<", "=")


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


def parse_query(words: str | Sequence[str]) -> Query:
    """Return the tree of a query given as one text or as the words of a command line.

    Raises BadValueError for a quote that is not closed, an empty value, or ``or`` and ``not`` without terms.
    """
    text = words if isinstance(words, str) else " ".join(map(_requoted, words))
    if len(text) > _LONGEST:
        raise BadValueError("query", f"is {len(text)} letters long", f"Use at most {_LONGEST} letters")
    alternatives: list[tuple[Term, ...]] = []
    terms: list[Term] = []
    negated = False
    for token in _tokens(text):
        if token == "or":
            _check_terms(terms, negated)
            alternatives.append(tuple(terms))
            terms = []
        elif token == "not":
            if negated:
                raise BadValueError("query", 'has "not" twice in a row', "Write it once")
            negated = True
        else:
            terms.append(_term(token, negated))
            negated = False
    if alternatives or terms or negated:
        _check_terms(terms, negated)
        alternatives.append(tuple(terms))
    return Query(tuple(alternatives))


def narrowed(words: str | Sequence[str], more: str) -> Query:
    """Return a query, each alternative of which must hold the terms of ``more`` too."""
    extra = parse_query(more).alternatives
    terms = extra[0] if extra else ()
    return Query(tuple(one + terms for one in parse_query(words).alternatives or ((),)))


def _requoted(word: str) -> str:
    """Return a word of a command line as it was meant: one with a blank in it was quoted there."""
    keyed = _KEYED.fullmatch(word)
    if keyed and " " in keyed[2] and ":" not in keyed[2] and '"' not in word:
        return f'{keyed[1]}:"{keyed[2]}"'
    return word


def _tokens(text: str) -> list[str]:
    if text.count('"') % 2:
        raise BadValueError(
            "query", f"{text} has a quotation mark without its second one", 'Write it as "two words"'
        )
    return _TOKEN.findall(text)


def _check_terms(terms: list[Term], negated: bool) -> None:
    if negated:
        raise BadValueError(
            "query",
            'has "not" with nothing behind it',
            "Write what is not wanted behind it, such as: not bead:any",
        )
    if not terms:
        raise BadValueError(
            "query", 'has "or" without a condition on each side', "Write it as: hook:14 or hook:16"
        )


def _term(token: str, negated: bool) -> Term:
    keyed = _KEYED.fullmatch(token)
    if keyed is None:
        return Term("", (token.strip('"'),), negated)
    key, value = keyed[1].lower(), keyed[2]
    wanted = (value.strip('"'),) if value.startswith('"') else tuple(value.split(","))
    if any(not one.strip() for one in wanted):
        raise BadValueError(
            "query", f'"{token}" has no value', f"Write it as {key}:VALUE, or {key}:any, {key}:none"
        )
    return Term(key, wanted, negated)


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
