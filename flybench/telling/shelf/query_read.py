"""How a query was read, in words: the range of each number, commas taken for points, and words that were searched for."""

from __future__ import annotations

from collections.abc import Sequence

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.language import OPERATORS, Term, parse_query, span_of
from flybench.catalog.search.limits import EXACT, ends_of_one
from flybench.catalog.search.reading import NUMBERS, alternatives_of
from flybench.catalog.search.select import ANY, NONE, field_of
from flybench.units import COMMA

_EXAMPLES = {"material": "kind:bead", "pattern": "style:slick", "run": "verdict:good"}
"""A condition that things of each kind may be asked for; flies and variants have a bead."""


def how_read(noun: Noun, query: str | Sequence[str]) -> list[str]:
    """Return in sentences how a query was read; none where it says all of that itself.

    Raises BadValueError for a query that cannot be read.
    """
    terms = parse_query(query).terms
    words = [term.wanted[0] for term in terms if not term.key]
    if words and len(words) == len(terms):
        return [_words(words, _EXAMPLES.get(noun.name, "bead:2.8"))]
    found = [
        line for term in terms if term.key for line in _term_read(field_of(noun, term.key, "query"), term)
    ]
    return list(dict.fromkeys(found))


def _words(words: Sequence[str], example: str) -> str:
    quoted = [f'"{word}"' for word in words]
    all_of_them = quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
    word = "word" if len(words) == 1 else "words"
    return f"Searched for the {word} {all_of_them}. A field is named before a colon, as in {example}."


def _term_read(field: Field, term: Term) -> list[str]:
    if field.kind not in NUMBERS:
        return []
    values = [text for text in alternatives_of(field, term) if text.removeprefix("=") not in (ANY, NONE)]
    with_comma = len(values) == 1 and COMMA.search(",".join(term.wanted)) is not None
    return [line for line in (_value_read(field, text, with_comma) for text in values) if line]


def _value_read(field: Field, text: str, with_comma: bool) -> str:
    """Return in a sentence how a value was read; "" where it says that itself."""
    written = f"{field.name}{text if text.startswith(OPERATORS) else f':{text}'}"
    span = span_of(text)
    if span.same and field.kind not in EXACT:
        return f"{written} finds {_range(field, span.low or '')}."
    return f"The comma was read as a decimal point: {written}." if with_comma else ""


def _range(field: Field, text: str) -> str:
    ends = ends_of_one(field, text)
    assert ends is not None
    factor, unit = (field.display.factor, field.display.unit) if field.display else (1.0, "")
    low, high = (f"{end / factor:.9g}" for end in ends)
    return f"from {low} to below {high} {unit}".rstrip()
