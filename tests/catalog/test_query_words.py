"""Words of a query: how they are read, and what cannot be read."""

from __future__ import annotations

import pytest

from flybench.catalog.search.language import Query, Term, narrowed, parse_query
from flybench.errors import BadValueError


def term(key: str, *wanted: str, negated: bool = False) -> Term:
    return Term(key, wanted, negated)


@pytest.mark.parametrize(
    ("words", "alternatives"),
    [
        ("", ()),
        ([], ()),
        ("hare", ((term("", "hare"),),)),
        ("Bead:2.8", ((term("bead", "2.8"),),)),
        ('"grey hen" hook:14', ((term("", "grey hen"), term("hook", "14")),)),
        ('notes:"one, two"', ((term("notes", "one, two"),),)),
        ("style:slick,dubbed", ((term("style", "slick", "dubbed"),),)),
        ("not a:1 b:2", ((term("a", "1", negated=True), term("b", "2")),)),
        ("a:1 not b:2", ((term("a", "1"), term("b", "2", negated=True)),)),
        ("a:1 or not b:2 or c", ((term("a", "1"),), (term("b", "2", negated=True),), (term("", "c"),))),
        ("x:y:z", ((term("x", "y:z"),),)),
        ("2:8", ((term("", "2:8"),),)),
        (["notes:grey hen"], ((term("notes", "grey hen"),),)),
        (["a:1", "b:2 c:3"], ((term("a", "1"), term("b", "2"), term("c", "3")),)),
        (['a:"x y"'], ((term("a", "x y"),),)),
        (["or:der"], ((term("or", "der"),),)),
        ("a:1 and b:2 AND c", ((term("a", "1"), term("b", "2"), term("", "c")),)),
        ("a:1 and not b:2 OR c:3", ((term("a", "1"), term("b", "2", negated=True)), (term("c", "3"),))),
        ("bead=2.8 sink>25 stock<=3", ((term("bead", "=2.8"), term("sink", ">25"), term("stock", "<=3")),)),
        ("sink > 25 and bead = 2.8", ((term("sink", ">25"), term("bead", "=2.8")),)),
        (["sink", ">", "25", "hare"], ((term("sink", ">25"), term("", "hare")),)),
        (["sink > 25 cm/s"], ((term("sink", ">25 cm/s"),),)),
        ("metal!=brass", ((term("metal", "brass", negated=True),),)),
        ("not metal != brass", ((term("metal", "brass"),),)),
        ("bead:3 mm hook:14", ((term("bead", "3 mm"), term("hook", "14")),)),
        (["bead:3", "mm"], ((term("bead", "3 mm"),),)),
        ("bead:2,8 mm", ((term("bead", "2", "8 mm"),),)),
        ("bead:> 2.8", ((term("bead", ">2.8"),),)),
        ('name="Mill Pond"', ((term("name", "=Mill Pond"),),)),
        ('"and" "or"', ((term("", "and"), term("", "or")),)),
        ("bead:3 mmx", ((term("bead", "3"), term("", "mmx")),)),
    ],
)
def test_words_of_a_query(words: str | list[str], alternatives: tuple[tuple[Term, ...], ...]) -> None:
    assert parse_query(words) == Query(alternatives)


def test_a_query_is_narrowed_on_both_sides_of_or() -> None:
    more = (term("sink", "any"), term("retired", "none"))
    assert narrowed("a or b", "sink:any retired:none") == Query(
        ((term("", "a"), *more), (term("", "b"), *more))
    )
    assert narrowed("", "sink:any retired:none") == Query((more,))
    assert narrowed("a", "") == Query(((term("", "a"),),))
    assert narrowed("", "") == Query(((),))


OR = 'query: has "or" without a condition on each side. Write it as: hook:14 or hook:16.'


AND = 'query: has "and" without a condition on each side. Write it as: hook:14 and bead:2.8.'
NOT = 'query: has "not" with nothing behind it. Write what is not wanted behind it, such as: not bead:any.'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("or a", OR),
        ("a or", OR),
        ("a or or b", OR),
        ("or", OR),
        ("not", NOT),
        ("and a", AND),
        ("a and", AND),
        ("a and and b", AND),
        ("a and or b", AND),
        ("a not and b", NOT),
        (
            "(bead:3 or bead:2)",
            'query: "(bead:3" begins with a bracket. Write both sets in full, with or between them.',
        ),
        ("a not", NOT),
        ("a not or b", NOT),
        ("not not a", 'query: has "not" twice in a row. Write it once.'),
        ("bead:", 'query: "bead:" has no value. Write it as bead:VALUE, or bead:any, bead:none.'),
        ("bead:1,,2", 'query: "bead:1,,2" has no value. Write it as bead:VALUE, or bead:any, bead:none.'),
        ('"a', 'query: "a has a quotation mark without its second one. Write it as "two words".'),
        ("a" * 2001, "query: is 2001 letters long. Use at most 2000 letters."),
    ],
)
def test_queries_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        parse_query(text)
    assert str(refused.value) == message


def test_the_longest_query_is_read() -> None:
    assert parse_query("a" * 2000) == Query(((term("", "a" * 2000),),))
