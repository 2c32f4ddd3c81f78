"""A design as readable text, in TOML (an open standard, toml.io): read with every fault named by its place in it."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from types import UnionType
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

from service.reckoning.asked import Wrong, finite
from service.reckoning.design_faults import faults_of
from service.reckoning.designs import (
    ClothCounts,
    ClothDesign,
    Design,
    Faults,
    PanelDesign,
    Placement,
    SectionDesign,
)

MOST_TEXT = 200_000
MOST_PARTS = 200
MOST_WORDS = 10_000

COUNT_FIELDS = tuple(field.name for field in fields(ClothCounts))
PLACEMENT_FIELDS = tuple(field.name for field in fields(Placement) if field.name != "panel")
DRAWN_FIELDS = ("outline", "along", "points")  # lines, in which white space says nothing

Table = Mapping[str, Any]
Record = TypeVar("Record", ClothCounts, ClothDesign, Design, PanelDesign, Placement, SectionDesign)


def read_design(text: str) -> Design:
    """Return the design that a text says.

    Raises Faults, each fault named by its place in the text ("panels.front.sections.hem.kind") with a sentence.

    >>> read_design('key = "bib"')  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    service.reckoning.designs.Faults: name: is needed; cloths: a design needs at least one; ...
    """
    return design_of(_tables(text))


def design_on_record(text: str) -> Design:
    """Return the design that a garment's or a design's record says.

    `read_design` let it in, so its faults are not looked for again: that would load the geometry of outlines.
    Raises Faults where the text is not a design at all.
    """
    return _read(_tables(text))


def design_of(table: Table) -> Design:
    """Return the design that a text's tables say, read by `tomllib` or made up from a form.

    Raises Faults, as `read_design` does.

    >>> design_of({"key": "bib", "name": 4})  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    service.reckoning.designs.Faults: name: must be words in quotes; cloths: a design needs at least one; ...
    """
    design = _read(table)
    if faults := faults_of(design):
        raise Faults(faults)
    return design


def _read(table: Table) -> Design:
    faults: list[Wrong] = []
    design = _design(table, faults)
    if faults or design is None:
        raise Faults(tuple(faults))
    return design


def _tables(text: str) -> Table:
    if len(text) > MOST_TEXT:
        raise Faults((Wrong("text", f"is longer than {MOST_TEXT} letters"),))
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number of more digits than can be read
        told = "is nested too deeply" if isinstance(error, RecursionError) else _not_toml(str(error))
        raise Faults((Wrong("text", told),)) from error


def _not_toml(told: str) -> str:
    """What is wrong with the text, its line first where the reader tells it.

    >>> _not_toml("Invalid value (at line 12, column 7)"), _not_toml("Invalid value (at end of document)")
    ('is not TOML, line 12: Invalid value (column 7)', 'is not TOML: Invalid value (at end of document)')
    """
    sentence, at_line, place = told.rpartition(" (at line ")
    line, _, column = place.partition(", ")
    return f"is not TOML, line {line}: {sentence} ({column}" if at_line else f"is not TOML: {told}"


def _design(table: Table, faults: list[Wrong]) -> Design | None:
    given = {
        "cloths": _each(table, "cloths", "", faults, lambda key, part: _cloth(key, part, faults)),
        "panels": _each(table, "panels", "", faults, lambda key, part: _panel(key, part, faults)),
        "sections": _each(table, "sections", "", faults, lambda key, part: _garment_section(key, part, faults)),
    }
    said = _without(table, tuple(given))
    if not faults and given["cloths"] and given["panels"]:
        return _record(Design, "", said, given, faults)
    _record(Design, "", said, given | {"cloths": (_ANY_CLOTH,), "panels": (_ANY_PANEL,)}, faults)
    faults += [Wrong(part, "a design needs at least one") for part in ("cloths", "panels") if not table.get(part)]
    return None


_ANY_CLOTH = ClothDesign("gown", "gown", ClothCounts(20, 20))
_ANY_PANEL = PanelDesign("front", "front", "front", mirror_of="front")


def _cloth(role: str, table: Table, faults: list[Wrong]) -> ClothDesign | None:
    path = f"cloths.{role}"
    counts = _record(ClothCounts, path, _only(table, COUNT_FIELDS), {}, faults)
    given = {"role": role, "counts": counts or ClothCounts(20, 20)}
    return _record(ClothDesign, path, _without(table, COUNT_FIELDS), given, faults)


def _panel(key: str, table: Table, faults: list[Wrong]) -> PanelDesign | None:
    path = f"panels.{key}"
    sections = _each(table, "sections", path, faults, lambda name, part: _own_section(key, name, part, faults))
    return _record(PanelDesign, path, _without(table, ("sections",)), {"key": key, "sections": sections}, faults)


def _own_section(panel: str, name: str, table: Table, faults: list[Wrong]) -> SectionDesign | None:
    path = f"panels.{panel}.sections.{name}"
    placement = _record(Placement, path, _only(table, PLACEMENT_FIELDS), {"panel": panel}, faults)
    given = {"key": f"{panel}.{name}", "owner": "panel", "placements": (placement,)}
    return _record(SectionDesign, path, _without(table, PLACEMENT_FIELDS), given, faults)


def _garment_section(name: str, table: Table, faults: list[Wrong]) -> SectionDesign | None:
    path = f"sections.{name}"
    placements = _each(
        table,
        "on",
        path,
        faults,
        lambda panel, part: _record(Placement, f"{path}.on.{panel}", part, {"panel": panel}, faults),
    )
    given = {"key": name, "owner": "garment", "placements": placements}
    return _record(SectionDesign, path, _without(table, ("on",)), given, faults)


def _each(
    table: Table, part: str, path: str, faults: list[Wrong], read: Callable[[str, Table], Any]
) -> tuple[Any, ...]:
    """What `read` makes of each named table under `part`; a fault where there is no such table."""
    where = f"{path}.{part}" if path else part
    named = table.get(part, {})
    if not isinstance(named, dict) or not all(isinstance(one, dict) for one in named.values()):
        faults.append(Wrong(where, f"must be tables: [{where}.name]"))
        return ()
    if len(named) > MOST_PARTS:
        faults.append(Wrong(where, f"has {len(named)} parts; at most {MOST_PARTS} are read"))
        return ()
    found = tuple(read(key, one) for key, one in named.items())
    return tuple(one for one in found if one is not None)


def _record(
    kind: type[Record], path: str, table: Table, given: Mapping[str, object], faults: list[Wrong]
) -> Record | None:
    """The record of one table, or None with its faults told."""
    hints = get_type_hints(kind)
    wanted = {field.name: field for field in fields(kind) if field.name not in given}
    told = len(faults)
    values: dict[str, Any] = dict(given)
    for name, value in table.items():
        try:
            values[name] = _value(name, hints[name] if name in wanted else None, value)
        except Wrong as wrong:
            faults.append(_at(path, wrong))
    missing = [name for name, field in wanted.items() if field.default is MISSING and name not in table]
    faults += [_at(path, Wrong(name, "is needed")) for name in missing]
    if len(faults) > told:
        return None
    try:
        return kind(**values)
    except Wrong as wrong:
        faults.append(_at(path, wrong))
        return None


def _value(name: str, hint: Any, value: object) -> object:
    """The value of a field as its record keeps it; raises Wrong when the text says something else."""
    if hint is None:
        raise Wrong(name, "is not known here")
    if isinstance(hint, UnionType):
        hint = get_args(hint)[0]
    if hint is float:
        return _number(name, value)
    if hint is bool or hint is int:
        if type(value) is not hint:
            raise Wrong(name, "must be true or false" if hint is bool else "must be a whole number")
        return value
    if get_origin(hint) is tuple:
        return _several(name, get_args(hint)[0], value)
    if not isinstance(value, str):
        raise Wrong(name, "must be words in quotes")
    if len(value) > MOST_WORDS and name not in DRAWN_FIELDS:
        raise Wrong(name, f"is longer than {MOST_WORDS} letters")
    if get_origin(hint) is Literal and value not in get_args(hint):
        raise Wrong(name, f"must be one of {', '.join(get_args(hint))}, not {value!r}")
    return " ".join(value.split()) if name in DRAWN_FIELDS else value


def _number(name: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Wrong(name, "must be a number")
    try:
        return finite(name, float(value))
    except OverflowError:
        raise Wrong(name, "must be a smaller number") from None


def _several(name: str, kind: Any, value: object) -> tuple[object, ...]:
    if name == "explained":
        if not isinstance(value, dict) or not all(isinstance(why, str) for why in value.values()):
            raise Wrong(name, 'must say why for each finding: { left_over = "…" }')
        return tuple(value.items())
    if not isinstance(value, list):
        raise Wrong(name, "must be a list in brackets")
    return tuple(_value(name, kind, one) for one in value)


def _at(path: str, wrong: Wrong) -> Wrong:
    return Wrong(f"{path}.{wrong.field}" if path else wrong.field, wrong.sentence)


def _only(table: Table, names: tuple[str, ...]) -> Table:
    return {name: value for name, value in table.items() if name in names}


def _without(table: Table, names: tuple[str, ...]) -> Table:
    return {name: value for name, value in table.items() if name not in names}
