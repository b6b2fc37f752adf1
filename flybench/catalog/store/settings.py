"""Settings: single values that a catalog keeps by name."""

from __future__ import annotations

from sqlalchemy.orm import Session

from flybench.catalog.tables.materials import Setting


def setting(session: Session, key: str) -> str | None:
    """Return what is kept under a name, None where nothing is."""
    found = session.get(Setting, key)
    return None if found is None else found.value


def keep_setting(session: Session, key: str, value: str | None) -> None:
    """Keep a value under a name in the place of what was there; None takes it away."""
    found = session.get(Setting, key)
    if value is None:
        if found is not None:
            session.delete(found)
    elif found is None:
        session.add(Setting(key=key, value=value))
    else:
        found.value = value
