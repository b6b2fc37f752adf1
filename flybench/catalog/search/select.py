"""Search: conditions of a query to SQL, and rows as plain values by field name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Select,
    SQLColumnExpression,
    Text,
    and_,
    func,
    literal,
    not_,
    or_,
    select,
    true,
)
from sqlalchemy import cast as sql_cast
from sqlalchemy.orm import Session, aliased

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.language import Query, Term, parse_query
from flybench.catalog.search.limits import day_limits, number_limits
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.reading import alternatives_of
from flybench.catalog.store.dialect import alike, folded
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Pattern, Step, Variant
from flybench.errors import BadValueError

Row = dict[str, Any]
Wanted = str | Sequence[str] | Query
"""A query as one text, as the words of a command line, or parsed already."""
_KEYS_AT_ONCE = 500
"""Keys in one statement; older SQLite takes 999 values at the most (its page of limits, from memory)."""
_EMPTY = {"text": "", "words": "[]"}
"""By kind of field, a text without a letter and a list without a word as the database keeps them."""
ANY, NONE = "any", "none"
"""What is written for a field that has a value, and for one that has none."""
_YES, _NO = ("yes", "true", "1"), ("no", "false", "0")


@dataclass(frozen=True)
class Page:
    """Rows found, and how many there are in all."""

    rows: list[Row]
    total: int


def find(
    session: Session,
    noun: Noun,
    query: Wanted = "",
    sort: str = "",
    limit: int = 0,
    fields: Sequence[str] = (),
) -> Page:
    """Return the rows of a noun that a query finds, and how many there are in all; see ``select_rows``."""
    rows = select_rows(session, noun, query, sort, limit, fields)
    full = len(rows) == limit
    return Page(rows, count(session, noun, query)[0] if full else len(rows))


def select_rows(
    session: Session,
    noun: Noun,
    query: Wanted = "",
    sort: str = "",
    limit: int = 0,
    fields: Sequence[str] = (),
    more: Sequence[SQLColumnExpression[Any]] = (),
) -> list[Row]:
    """Return the rows of a noun that a query finds; SI values by field name, None where unknown; ``more``, columns of its
    tables that are no fields, by their own names.

    ``sort`` names fields with commas between them, "down" behind those that go from high to low, as in
    "sink down, code"; rows without a value come last. ``limit`` 0 means all. Raises BadValueError for an unknown
    field, a value it cannot have, or a sort that cannot be read.
    """
    wanted = [field_of(noun, name) for name in fields] if fields else list(noun.fields.values())
    condition = condition_of(noun, query if isinstance(query, Query) else parse_query(query))
    columns: list[Any] = [*(one.column.label(one.name) for one in wanted), *more]
    statement: Select[Any] = noun.joins.with_only_columns(*columns)
    if condition is not None:
        statement = statement.where(condition)
    ordered = statement.order_by(*_order(noun, sort))
    found = session.execute(ordered.limit(limit) if limit else ordered)
    names = list(found.keys())  # twice as quick as asking each row for its mapping
    return [dict(zip(names, row, strict=True)) for row in found]


def one_row(session: Session, noun: Noun, key: str | int) -> Row:
    """Return all fields of the row with this key, which is there and written exactly."""
    columns: list[Any] = [one.column.label(one.name) for one in noun.fields.values()]
    statement: Select[Any] = noun.joins.with_only_columns(*columns)
    return dict(session.execute(statement.where(noun.fields[noun.key].column == key)).mappings().one())


def count(session: Session, noun: Noun, query: Wanted, field: str = "") -> tuple[int, int]:
    """Return how many rows a query finds, and how many of them have a value in ``field``."""
    given = func.count(field_of(noun, field).column) if field else func.count()
    columns: list[Any] = [func.count(), given]
    counting: Select[Any] = noun.joins.with_only_columns(*columns)
    condition = condition_of(noun, query if isinstance(query, Query) else parse_query(query))
    found, filled = session.execute(counting if condition is None else counting.where(condition)).one()
    return int(found), int(filled)


def loaded(
    session: Session, statement: Select[Any], column: SQLColumnExpression[Any], keys: Sequence[Any]
) -> Iterator[Any]:
    """Yield what a statement selects whose ``column`` is one of many keys, some hundred keys at once."""
    for row in loaded_rows(session, statement, column, keys):
        yield row[0]


def loaded_rows(
    session: Session, statement: Select[Any], column: SQLColumnExpression[Any], keys: Sequence[Any]
) -> Iterator[Any]:
    """Yield the rows that a statement selects whose ``column`` is one of many keys, some hundred keys at once."""
    for start in range(0, len(keys), _KEYS_AT_ONCE):
        yield from session.execute(statement.where(column.in_(keys[start : start + _KEYS_AT_ONCE])))


def field_of(noun: Noun, name: str, where: str = "") -> Field:
    """Return a field by its name. Raises BadValueError for an unknown one; ``where`` says where it was named."""
    key = name.strip().lower().replace("_", "-")
    if key in noun.fields:
        return noun.fields[key]
    known = [one for one, field in noun.fields.items() if not field.hidden]
    close = get_close_matches(key, known)
    cure = f"Did you mean {close[0]}?" if close else f"The fields of {noun.plural} are {', '.join(known)}"
    elsewhere = [other.plural for other in NOUNS.values() if key in other.fields]
    others = f"; {' and '.join(elsewhere)} have one" if elsewhere else ""
    raise BadValueError(where or noun.name, f'{noun.plural} have no field "{name.strip()}"{others}', cure)


def condition_of(noun: Noun, query: Query) -> ColumnElement[bool] | None:
    """Return the condition of a query, or None where everything is wanted."""
    if not query.alternatives:
        return None
    return or_(*(and_(true(), *(_term(noun, term) for term in terms)) for terms in query.alternatives))


def _term(noun: Noun, term: Term) -> ColumnElement[bool]:
    if not term.key:
        found = _holds_word(noun, term.wanted[0])
    else:
        field = field_of(noun, term.key, "query")
        found = or_(*(_holds(field, text) for text in alternatives_of(field, term)))
    return not_(func.coalesce(found, False)) if term.negated else found


def _holds_word(noun: Noun, word: str) -> ColumnElement[bool]:
    """Return where a word stands in code or notes, or in the pattern, the variant or the recipe behind it."""
    places: list[ColumnElement[bool]] = [_contains(column, word) for column in noun.searched]
    if noun.name != "material":
        places.append(Pattern.id.in_(_patterns_with(word)))
    if "variant" in noun.fields:
        places.append(Variant.id.in_(select(Variant.id).where(_contains(Variant.code, word))))
    return or_(*places)


def _patterns_with(word: str) -> Select[Any]:
    """Return the patterns that have a word in code, name, notes, steps or the materials of the steps."""
    pattern, material = aliased(Pattern), aliased(Material)
    columns = (pattern.code, pattern.name, pattern.notes, Step.text, material.code, material.name)
    return (
        select(pattern.id)
        .outerjoin(Step, Step.pattern_id == pattern.id)
        .outerjoin(material, material.id == Step.material_id)
        .where(or_(*(_contains(column, word) for column in columns)))
    )


def _contains(column: SQLColumnExpression[Any], word: str) -> ColumnElement[bool]:
    """Return where a word stands in a text, whatever its case."""
    escaped = "".join(f"/{letter}" if letter in "/%_" else letter for letter in word)
    if word.isascii():  # the database's own way, which is quicker
        return alike(column, f"%{escaped}%")
    return folded(column).like(folded(literal(f"%{escaped}%")), escape="/")


def _holds(field: Field, text: str) -> ColumnElement[bool]:
    """Return where a field holds what a value stands for."""
    if text.removeprefix("=") in (ANY, NONE):
        nothing = _EMPTY.get(field.kind)
        empty = (
            field.column.is_(None) if nothing is None else func.coalesce(_as_text(field), nothing) == nothing
        )
        return empty if text.endswith(NONE) else not_(empty)
    return _MATCHES.get(field.kind, _in_limits)(field, text)


def _is_choice(field: Field, text: str) -> ColumnElement[bool]:
    found: ColumnElement[bool] = field.column == choice_of(field, text.removeprefix("="))
    return found


def _is_flag(field: Field, text: str) -> ColumnElement[bool]:
    return field.column.is_(_flag(field, text.removeprefix("=")))


def _is_code(field: Field, text: str) -> ColumnElement[bool]:
    return folded(field.column) == folded(literal(text.removeprefix("=")))


def _has_text(field: Field, text: str) -> ColumnElement[bool]:
    """Return where a text holds what is wanted, or behind "=" where it is that and nothing else."""
    if text.startswith("="):
        if field.kind == "words":
            return _contains(_as_text(field), f'"{text[1:]}"')
        return folded(field.column) == folded(literal(text[1:]))
    return _contains(_as_text(field), text)


def _in_days(field: Field, text: str) -> ColumnElement[bool]:
    return _between(field.column, *day_limits(field, text))


def _in_limits(field: Field, text: str) -> ColumnElement[bool]:
    return _between(field.column, *number_limits(field, text))


_MATCHES: Mapping[str, Callable[[Field, str], ColumnElement[bool]]] = {
    "choice": _is_choice,
    "flag": _is_flag,
    "code": _is_code,
    "text": _has_text,
    "words": _has_text,
    "date": _in_days,
    "time": _in_days,
}


def _as_text(field: Field) -> SQLColumnExpression[Any]:
    return sql_cast(field.column, Text) if field.kind == "words" else field.column


def choice_of(field: Field, text: str) -> Any:
    """Return the word of an enum field. Raises BadValueError for an unknown one."""
    assert field.choices is not None
    for member in field.choices:
        if member.value == text.lower():
            return member
    values = [str(member.value) for member in field.choices]
    close = get_close_matches(text.lower(), values)
    cure = f"Did you mean {close[0]}?" if close else f"Use one of {', '.join(values)}"
    raise BadValueError(field.name, f'"{text}" is not known', cure)


def _flag(field: Field, text: str) -> bool:
    if text.lower() in (*_YES, *_NO):
        return text.lower() in _YES
    raise BadValueError(
        field.name, f'"{text}" is neither yes nor no', f"Write {field.name}:yes or {field.name}:no"
    )


def _between(
    column: SQLColumnExpression[Any], low: Any, high: Any, low_open: bool, high_open: bool
) -> ColumnElement[bool]:
    parts: list[ColumnElement[bool]] = []
    if low is not None:
        parts.append(column > low if low_open else column >= low)
    if high is not None:
        parts.append(column < high if high_open else column <= high)
    return and_(*parts)


def _order(noun: Noun, sort: str) -> list[ColumnElement[Any]]:
    """Return what to order by, from "sink down, code"; the key comes last, so that no two rows change places."""
    order: list[ColumnElement[Any]] = []
    for part in (sort or noun.sort).split(","):
        field, down = _sorted_by(noun, part)
        ordered = field.column.desc() if down else field.column.asc()
        order.append(ordered if field.needed else ordered.nulls_last())
    order.append(noun.fields[noun.key].column.asc())
    return order


def _sorted_by(noun: Noun, part: str) -> tuple[Field, bool]:
    """Return the field that a part of a sort names, and whether it goes down."""
    name, *way = part.split() or [""]
    if name and not name.startswith("-") and (way in ([], ["up"], ["down"])):
        return field_of(noun, name, "--sort"), way == ["down"]
    cure = 'Write a field, and "down" behind it to begin with the highest, such as "sink down, code"'
    raise BadValueError("--sort", f'"{part.strip()}" cannot be read', cure)
