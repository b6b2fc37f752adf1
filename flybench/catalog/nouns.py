"""The nouns of the catalog and their fields."""

from __future__ import annotations

from collections.abc import Mapping

from flybench.catalog.fields import Noun
from flybench.catalog.nouns_flies import FLY, RUN
from flybench.catalog.nouns_materials import MATERIAL
from flybench.catalog.nouns_patterns import PATTERN, VARIANT

NOUNS: Mapping[str, Noun] = {noun.name: noun for noun in (MATERIAL, PATTERN, VARIANT, FLY, RUN)}
