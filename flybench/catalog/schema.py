"""All tables together, and the revision that this program writes."""

from __future__ import annotations

from sqlalchemy import MetaData

from flybench.catalog import flies, materials, patterns
from flybench.catalog.base import Base

REVISION = "0001"
"""Newest revision of the tables; migrations/versions ends with it."""


def tables() -> MetaData:
    """Return the tables of this revision."""
    assert flies and materials and patterns
    return Base.metadata
