"""Adding, changing and removing rows of the catalog, checked alike for every kind of thing."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import func, inspect, literal, select
from sqlalchemy.orm import Session

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.keyboards import as_meant
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.not_there import MOST_NAMED, not_there
from flybench.catalog.store.dialect import folded
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.materials import Bead, Hook, Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant, VariantChange
from flybench.catalog.tables.vocabulary import MaterialKind
from flybench.errors import BadValueError, FlybenchError

_REFERENCES: Mapping[type[Any], tuple[tuple[str, Any, Any], ...]] = {
    Material: (
        ("variant", Variant, Variant.hook_id),
        ("variant", Variant, Variant.bead_id),
        ("step of pattern", Step, Step.material_id),
        ("change in variant", VariantChange, VariantChange.material_id),
        ("stock movement", MaterialMovement, MaterialMovement.material_id),
    ),
    Pattern: (("variant", Variant, Variant.pattern_id),),
    Variant: (
        ("fly", Fly, Fly.variant_id),
        ("variant based on it:", Variant, Variant.based_on_id),
        ("stock movement", FlyMovement, FlyMovement.variant_id),
    ),
    Fly: (("run", BenchRun, BenchRun.fly_id),),
}


def get(session: Session, noun: Noun, code: str, key: str = "") -> Any:
    """Return the row of a code, whatever its case.

    Raises BadValueError with the nearest code where there is none; ``key`` names where the code was given.
    """
    model = noun.model
    found = named(session, model, code.strip())
    if found is not None:
        return found
    raise not_there(session, noun, code, key)


def named(session: Session, model: type[Any], code: str) -> Any:
    """Return the row of a code, whatever its case, or None; written exactly it is found by its index.

    What the QR code of a label holds is as good as the code: words behind it, or an address that ends in it; also where a
    hand scanner typed it on another keyboard than that of the computer, if that can mean one thing alone.
    """
    found = _first(session, model, (code, *_within(code)))
    if found is not None:
        return found
    word = next(iter(code.split()), "")
    meant = [_first(session, model, (text, *_within(text))) for text in as_meant(word)]
    rows = {row.id: row for row in meant if row is not None}
    return next(iter(rows.values())) if len(rows) == 1 else None


def _first(session: Session, model: type[Any], codes: Sequence[str]) -> Any:
    """Return the row of the first of these codes that there is, or None."""
    for text in codes:
        for condition in (model.code == text, folded(model.code) == folded(literal(text))):
            found = session.scalars(select(model).where(condition)).first()
            if found is not None:
                return found
    return None


def _within(scanned: str) -> list[str]:
    """Return what may be the code in a text that was read from a label, the likeliest first."""
    first = scanned.split(maxsplit=1)[0] if scanned.split() else ""
    parts = [part for part in re.split(r"[/=&?#]", first) if part]
    return [text for text in (first, *reversed(parts[1:])) if text != scanned]


def add(session: Session, noun: Noun, values: Mapping[str, Any]) -> Any:
    """Add a row. Raises BadValueError for a missing field, a code that is taken, or a wrong reference."""
    for field in noun.fields.values():
        if field.needed and values.get(field.name) is None:
            raise BadValueError(field.name, "is missing", f"Give it with --{field.name}")
    _check_free(session, noun, values["code"])
    row = noun.model()
    _set(session, noun, row, values)
    session.add(row)
    session.flush()
    return row


def change(session: Session, noun: Noun, code: str, values: Mapping[str, Any]) -> Any:
    """Change fields of a row; those not given stay. Raises as ``add`` does."""
    row = get(session, noun, code)
    if "code" in values and values["code"].casefold() != row.code.casefold():
        _check_free(session, noun, values["code"])
    _set(session, noun, row, values)
    session.flush()
    return row


def remove(session: Session, noun: Noun, code: str) -> None:
    """Take a row off. Raises FlybenchError with what refers to it, where anything does."""
    row = get(session, noun, code)
    held = [users for users in (_held(session, row, *one) for one in _REFERENCES[noun.model]) if users]
    if held:
        raise FlybenchError(
            f"{noun.name} {row.code}: cannot be removed while it is used by {'; '.join(held)}. "
            "Remove those first; nothing was changed."
        )
    session.delete(row)
    session.flush()


def _held(session: Session, row: Any, name: str, model: Any, column: Any) -> str:
    """Return what refers to a row through one column, by code where it has one."""
    key = row.material_id if isinstance(row, (Hook, Bead)) else row.id
    count = session.scalar(select(func.count()).select_from(model).where(column == key)) or 0
    if not count:
        return ""
    rows = session.scalars(select(model).where(column == key).order_by(model.id).limit(MOST_NAMED)).all()
    names = [_name_of(one) for one in rows]
    more = f" and {count - len(names)} more" if count > len(names) else ""
    return f"{name} {', '.join(names)}{more}"


def _name_of(row: Any) -> str:
    if isinstance(row, Step):
        return f"{row.pattern.code} ({row.position})"
    if isinstance(row, VariantChange):
        return str(row.variant.code)
    return str(getattr(row, "code", row.id))


def _check_free(session: Session, noun: Noun, code: str) -> None:
    taken = named(session, noun.model, code)
    if taken is not None:
        raise BadValueError(
            "code", f"there is a {noun.name} {taken.code} already", "Choose another code, or change that one"
        )


def _set(session: Session, noun: Noun, row: Any, values: Mapping[str, Any]) -> None:
    given = [(field, values[name]) for name, field in noun.fields.items() if name in values]
    with session.no_autoflush:  # half a row must not be written
        for field, value in given:
            if field.name == "retired":
                _refuse_to_come(value)
            if field.target:
                setattr(row, field.attribute, None if value is None else _referred(session, field, value))
            elif field.kind == "quantity":
                _set_quantity(row, field, value)
            else:
                _set_plain(row, field.attribute, value)
        _check(row)
        if isinstance(row, Variant) and "pattern" in values:
            _refuse_left_behind(session, row)


def _refuse_to_come(day: date | None) -> None:
    """Refuse a day of retiring that is still to come: a thing that is retired is not offered any more from now on."""
    if day is not None and day > date.today():
        cure = "Give today or a day before, and retire it on that day"
        raise BadValueError("retired", f"{day} is still to come", cure)


def _check(row: Any) -> None:
    """Refuse what only shows in several fields together."""
    if isinstance(row, Material):
        _check_material(row)
    if isinstance(row, Variant):
        _check_chain(row)
    if isinstance(row, Fly):
        _check_fly(row)


def _check_fly(row: Fly) -> None:
    if row.mass_kg is not None and row.mass_in_water_kg is not None and row.mass_in_water_kg >= row.mass_kg:
        cure = "A fly shows less on the scale in water than dry; were the two swapped?"
        raise BadValueError("mass-in-water", "is not less than the dry mass", cure)
    if row.tied_on is not None and row.retired_on is not None and row.retired_on < row.tied_on:
        raise BadValueError(
            "retired", f"{row.retired_on} is before {row.tied_on}, the day it was tied", "Check both days"
        )


def _referred(session: Session, field: Field, code: str) -> Any:
    """Return the row a code refers to; a hook or bead for a variant's own fields."""
    found = get(session, NOUNS[field.target], code, field.name)
    if field.attribute in ("hook", "bead"):
        part = getattr(found, field.attribute)
        if part is None:
            raise BadValueError(
                field.name,
                f"{found.code} is a {found.kind.value}, not a {field.attribute}",
                f"Name a material of the kind {field.attribute}",
            )
        return part
    return found


def _set_quantity(row: Any, field: Field, value: tuple[float, float | None] | None) -> None:
    number, spread = value if value is not None else (None, None)
    if isinstance(row, Material) and field.name == "mass":
        _set_material_mass(row, number, spread)
        return
    _set_plain(row, field.attribute, number)
    if field.doubt_attribute:
        setattr(row, field.doubt_attribute, spread)


def _set_material_mass(row: Material, number: float | None, spread: float | None) -> None:
    if row.kind is MaterialKind.BEAD and row.bead is not None:
        row.bead.weighed_kg, row.bead.weighed_u_kg = number, spread
    elif row.kind is MaterialKind.HOOK and row.hook is not None:
        if spread is not None:
            raise BadValueError(
                "mass", "of a hook is kept without an uncertainty", "Leave off what is behind +-"
            )
        row.hook.mass_kg = number
    else:
        raise BadValueError("mass", "is kept of beads and hooks only", "Leave it out for other materials")


def _set_plain(row: Any, attribute: str, value: Any) -> None:
    """Set an attribute, of the row's hook or bead where the path says so; an empty optional value is None."""
    owner, name = row, attribute
    if "." in attribute:
        part, name = attribute.split(".")
        owner = getattr(row, part)
        if owner is None:
            if value is None:
                return
            owner = {"hook": Hook, "bead": Bead}[part]()
            setattr(row, part, owner)
    column = inspect(type(owner)).columns[name]
    if value is None and not column.nullable:
        raise BadValueError(name, "cannot be empty", "Give it a value, or leave it out")
    setattr(owner, name, value)


def _check_material(row: Material) -> None:
    """Refuse a bead or a hook without what it needs, sizes of either on another kind, a price without its pack."""
    if (row.pack_amount is None) != (row.pack_price is None):
        missing = "pack" if row.pack_amount is None else "price"
        raise BadValueError(missing, "is missing", "Give a pack and its price together, or neither")
    for kind in (MaterialKind.BEAD, MaterialKind.HOOK):
        part = getattr(row, kind.value)
        if part is not None and row.kind is not kind:
            raise BadValueError(
                "kind",
                f"{row.code} is a {row.kind.value}, but was given the sizes of a {kind.value}",
                f"Give --kind {kind.value}, or leave those sizes out",
            )
        if row.kind is kind:
            for field in NOUNS["material"].fields.values():
                if (
                    field.kinds_need_it
                    and kind in field.kinds
                    and getattr(part, field.attribute.split(".")[1], None) is None
                ):
                    problem = f"is missing for the {kind.value} {row.code}"
                    raise BadValueError(field.name, problem, f"Give it with --{field.name}")


def _check_chain(row: Variant) -> None:
    """Refuse a variant that is based on itself through others, or on one of another pattern."""
    seen, base = [row], row.based_on
    if base is not None and base.pattern is not row.pattern:
        problem = f"{base.code} is a variant of the pattern {base.pattern.code}, not of {row.pattern.code}"
        raise BadValueError("based-on", problem, "Base it on a variant of the same pattern")
    while base is not None:
        if base in seen:
            raise BadValueError(
                "based-on",
                f"{row.code} would be based on itself",
                "Base it on another variant",
            )
        seen.append(base)
        base = base.based_on


def _refuse_left_behind(session: Session, row: Variant) -> None:
    """Refuse to take a variant to another pattern than that of the variants which are based on it."""
    if row.id is None:
        return
    apart = select(Variant.code).where(Variant.based_on_id == row.id, Variant.pattern_id != row.pattern.id)
    codes = session.scalars(apart.order_by(Variant.code).limit(MOST_NAMED)).all()
    if codes:
        problem = f"{row.code} cannot go to {row.pattern.code}: based on it, and of another pattern: {', '.join(codes)}"
        raise BadValueError("pattern", problem, 'Give those an empty base first (--based-on "")')
