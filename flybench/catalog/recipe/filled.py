"""What recipe files leave out, filled in from the catalog: what is not written in a file stays as it is.

Works on the tables of the files as TOML gives them, before they are checked, so that a file filled in is checked as a whole
one is. A step list, the changes of a variant and the list of photos are each written whole or not at all.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from copy import deepcopy
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.recipe.from_rows import material_of, recipe_of
from flybench.catalog.recipe.write import record_lines, write_recipe
from flybench.catalog.shelf.rows import named
from flybench.catalog.tables.base import CODE_LENGTH
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Pattern
from flybench.errors import FlybenchError

Table = dict[str, Any]

_EMPTIED = {
    "pattern": {"notes"},
    "variant": {"bead", "based_on", "price", "notes"},
}
"""Keys of the tables that an empty text takes the value away from; in a material all but the following."""
_NEEDED = {"code", "kind", "name", "unit"}


def filled(session: Session | None, files: Mapping[str, Table]) -> dict[str, Table]:
    """Return the tables of each file, what is not written in them taken from the catalog; None where there is none yet.

    Materials that a step or a variant names by their code alone are taken from the catalog or from another of the
    files. What has no form that can be filled in is left for the check of the file. Raises FlybenchError for steps
    that were written without the changes of a variant that the catalog has for them.
    """
    whole = {file: _with_pattern(session, file, deepcopy(parsed)) for file, parsed in files.items()}
    materials = _known_materials(session, whole.values())
    return {file: _with_materials(parsed, materials) for file, parsed in whole.items()}


def _with_pattern(session: Session | None, file: str, parsed: Table) -> Table:
    """Return a file with what the catalog knows of its pattern and its variants."""
    head = parsed.get("pattern")
    row = _row(session, Pattern, head)
    if not isinstance(head, dict) or row is None:
        return parsed
    there: Table = tomllib.loads(write_recipe(recipe_of(row)).decode())
    there["pattern"].pop("photos", None)  # kept by their content, not by files beside the recipe
    kept: Table = {name: there[name] for name in ("about", "step") if name in there}
    whole = {**kept, **parsed}
    whole["pattern"] = _emptied({**there["pattern"], **head}, _EMPTIED["pattern"])
    if isinstance(whole.get("step", []), list) and isinstance(parsed.get("variant", []), list):
        whole["variant"] = _variants(file, parsed, there.get("variant", []), len(whole.get("step", [])))
    return whole


def _variants(file: str, parsed: Table, there: list[Table], steps: int) -> list[Any]:
    """Return the variants of a file filled in, with those behind them that only the catalog has."""
    known = {variant["code"].casefold(): variant for variant in there}
    whole: list[Any] = []
    for variant in parsed.get("variant", []):
        code = variant.get("code") if isinstance(variant, dict) else None
        old = known.pop(code.casefold(), None) if isinstance(code, str) else None
        if old is None:
            whole.append(variant)
            continue
        _check_changes(file, {} if "change" in variant else old, steps)
        whole.append(_emptied({**old, **variant}, _EMPTIED["variant"]))
    for variant in known.values():
        _check_changes(file, variant, steps)
    return [*whole, *known.values()]


def _check_changes(file: str, variant: Table, steps: int) -> None:
    """Refuse fewer steps than a variant changes whose changes the file does not have."""
    beyond = [change["step"] for change in variant.get("change", []) if change["step"] > steps]
    if beyond:
        raise FlybenchError(
            f"{file}: variant {variant['code']} changes step {beyond[0]} in the catalog, and the file has "
            f"{steps} steps. Write that variant with its changes into the file."
        )


def _with_materials(parsed: Table, known: Mapping[str, Table]) -> Table:
    """Return a file with all that is known of its materials, those that it names by their code alone among them."""
    blocks = parsed.get("material", [])
    if not isinstance(blocks, list):
        return parsed
    whole = [_material(block, known) for block in blocks]
    here = {
        block["code"] for block in blocks if isinstance(block, dict) and isinstance(block.get("code"), str)
    }
    for table, key in _references(parsed):
        code = table[key]
        if code in here or code.casefold() not in known:
            continue
        block = known[code.casefold()]
        table[key] = block["code"]
        if block["code"] not in here:
            here.add(block["code"])
            whole.append(block)
    return {**parsed, "material": whole} if whole else parsed


def _material(block: Any, known: Mapping[str, Table]) -> Any:
    code = block.get("code") if isinstance(block, dict) else None
    old = known.get(code.casefold()) if isinstance(code, str) else None
    if old is None or block.get("kind", old.get("kind")) != old.get("kind"):
        return block
    return _emptied({**old, **block}, set(block) - _NEEDED)


def _known_materials(session: Session | None, files: Iterable[Table]) -> dict[str, Table]:
    """Return by code, without its case, what the catalog and all files together know of each material."""
    known: dict[str, Table] = {}
    for parsed in files:
        for code in _codes(parsed):
            row = _row(session, Material, {"code": code})
            if row is not None:
                known[code.casefold()] = tomllib.loads("\n".join(record_lines(material_of(row))))
    for parsed in files:
        for block in _tables(parsed, "material"):
            if isinstance(block.get("code"), str):
                key = block["code"].casefold()
                old = known.get(key, {})
                same = block.get("kind", old.get("kind")) == old.get("kind")
                known[key] = _emptied({**(old if same else {}), **block}, set(block) - _NEEDED)
    return known


def _codes(parsed: Table) -> Iterator[str]:
    """Yield the codes of all materials that a file names."""
    for block in _tables(parsed, "material"):
        if isinstance(block.get("code"), str):
            yield block["code"]
    for table, key in _references(parsed):
        yield table[key]


def _references(parsed: Table) -> Iterator[tuple[Table, str]]:
    """Yield each table that names a material by its code, and the key under which it does."""
    variants = _tables(parsed, "variant")
    changes = [change for variant in variants for change in _tables(variant, "change")]
    for tables, keys in (
        (_tables(parsed, "step"), ("material",)),
        (variants, ("hook", "bead")),
        (changes, ("material",)),
    ):
        yield from ((table, key) for table in tables for key in keys if isinstance(table.get(key), str))


def _tables(parsed: Table, name: str) -> list[Table]:
    """Return the tables of a list that is one."""
    found = parsed.get(name, [])
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _row(session: Session | None, model: type[Any], table: Any) -> Any:
    """Return the row of the code in a table, None where it has none that could be one, or there is no catalog."""
    code = table.get("code") if isinstance(table, dict) else None
    if session is None:
        return None
    return named(session, model, code) if isinstance(code, str) and 0 < len(code) <= CODE_LENGTH else None


def _emptied(table: Table, keys: set[str]) -> Table:
    """Return a table without those of the keys whose text is empty."""
    return {key: value for key, value in table.items() if value != "" or key not in keys}
