"""The nouns of the catalog and their fields."""

from __future__ import annotations

from collections.abc import Mapping

from flybench.catalog.search.fields import Noun
from flybench.catalog.search.fly_fields import FLY, RUN
from flybench.catalog.search.material_fields import MATERIAL
from flybench.catalog.search.pattern_fields import PATTERN, VARIANT

NOUNS: Mapping[str, Noun] = {noun.name: noun for noun in (MATERIAL, PATTERN, VARIANT, FLY, RUN)}
