"""The drag law of a fly, a variant or a pattern of the catalog."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.sink.learn import learn
from flybench.shop.fly.builds import build_of
from flybench.shop.speeds.learning import Learned
from flybench.sinking.model.law import Law, law_of


@dataclass(frozen=True)
class FoundLaw:
    """A drag law, of which fly, variant or pattern, and what it was learned from."""

    of: str
    law: Law
    learned: Learned


def drag_law(catalog: Catalog, code: str) -> FoundLaw:
    """Return the drag law of a fly, else a variant, else a pattern (its first variant) of this code.

    Raises BadValueError where there is none, FlybenchError for a pattern without variants.
    """
    with catalog.reading() as session:
        for noun in ("fly", "variant", "pattern"):
            found = named(session, NOUNS[noun].model, code)
            if found is not None:
                break
        else:
            cure = "See what there is: flybench fly list, flybench variant list, flybench pattern list"
            raise BadValueError("CODE", f'there is no fly, variant or pattern "{code}"', cure)
        build = build_of(_variant(found))
        learned = learn(session, (), [build])
        flies = (found.code,) if noun == "fly" else ()
        return FoundLaw(f"{noun} {found.code}", law_of(learned.shop, build, flies), learned)


def _variant(found: object) -> Variant:
    if isinstance(found, Pattern):
        if not found.variants:
            cure = f"Add one: flybench variant add CODE --pattern {found.code}"
            raise FlybenchError(f"pattern {found.code}: it has no variant, so no drag law. {cure}")
        return found.variants[0]
    return found if isinstance(found, Variant) else found.variant  # type: ignore[attr-defined]
