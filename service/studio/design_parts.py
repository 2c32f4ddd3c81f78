"""A design's text as tables, changed part by part: a panel or section put in, moved, taken out."""

import re
import tomllib
import unicodedata
from collections.abc import Collection, Mapping
from copy import deepcopy
from typing import Any, cast

from service.errors import NotFound

Path = tuple[str, ...]
Table = dict[str, Any]

LONGEST_KEY = 36  # leaves room for a number behind it


def tables_of(document: str) -> Table:
    """A kept design's text as tables."""
    return tomllib.loads(document)


def part_at(table: Mapping[str, Any], path: Path) -> Table:
    """The part at a place of the text; refused when there is none."""
    found: Any = table
    for name in path:
        found = found.get(name) if isinstance(found, dict) else None
    if not isinstance(found, dict):
        raise NotFound("There is no such part in this design.")
    return cast("Table", found)


def with_part(table: Table, path: Path, part: Mapping[str, Any]) -> Table:
    """The tables with this part at that place: in its old place among its like, or the last of them."""
    whole = deepcopy(table)
    place = whole
    for name in path[:-1]:
        place = place.setdefault(name, {})
    place[path[-1]] = dict(part)
    return whole


def without_part(table: Table, path: Path) -> Table:
    """The tables without that part."""
    part_at(table, path)
    whole = deepcopy(table)
    del part_at(whole, path[:-1])[path[-1]]
    return whole


def moved_part(table: Table, path: Path, *, up: bool) -> Table:
    """The tables with that part one place sooner or later among its like; at the end it stays."""
    part_at(table, path)
    whole = deepcopy(table)
    place = part_at(whole, path[:-1])
    names = list(place)
    at = names.index(path[-1])
    other = at - 1 if up else at + 1
    if 0 <= other < len(names):
        names[at], names[other] = names[other], names[at]
    ordered = {name: place[name] for name in names}
    place.clear()
    place.update(ordered)
    return whole


def free_key(name: str, taken: Collection[str], otherwise: str) -> str:
    """A name for the text made from a name for people: small letters, digits, underlines; numbered when taken.

    >>> free_key("Sleeve, left", ["sleeve_left"], "panel"), free_key("前", [], "panel")
    ('sleeve_left_2', 'panel')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    key = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:LONGEST_KEY].strip("_")
    key = key if re.match(r"[a-z]", key) else otherwise
    number, tried = 2, key
    while tried in taken:
        tried, number = f"{key}_{number}", number + 1
    return tried


def place_in_words(table: Mapping[str, Any], place: str) -> str:
    """Where a fault stands, said by the names of the panel and section.

    >>> place_in_words({"panels": {"back": {"name": "Back", "sections": {"hem": {"name": "Hem"}}}}},
    ...                "panels.back.sections.hem.mirror_of")
    'Back, Hem'
    """
    found: Any = table
    names = []
    for key in place.split("."):
        found = found.get(key) if isinstance(found, dict) else None
        if isinstance(found, dict) and isinstance(found.get("name"), str):
            names.append(found["name"])
    return ", ".join(names) or place


def with_part_after(table: Table, path: Path, key: str, part: Mapping[str, Any]) -> Table:
    """The tables with this part under that key, behind the part at the path."""
    part_at(table, path)
    whole = deepcopy(table)
    place = part_at(whole, path[:-1])
    ordered: Table = {}
    for name, one in place.items():
        ordered[name] = one
        if name == path[-1]:
            ordered[key] = dict(part)
    place.clear()
    place.update(ordered)
    return whole


def copied_section(table: Table, path: Path) -> tuple[Table, str]:
    """The tables with a section copied right behind itself, and the copy's name in the text; it mirrors nothing new."""
    part = deepcopy(part_at(table, path))
    part["name"] = f"{part['name']}, copy"
    key = free_key(part["name"], tuple(part_at(table, path[:-1])), "section")
    return with_part_after(table, path, key, part), key


def mirrored_section(table: Table, path: Path) -> tuple[Table, str]:
    """The tables with a section's mirror right behind it, and the mirror's name in the text.

    On the joined garment the mirror lies on the panels that mirror those of the first, and on the others themselves.
    A mirror of a mirror is one of the first.
    """
    part = part_at(table, path)
    key = ".".join(name for name in path if name not in ("panels", "sections"))
    first = part.get("mirror_of") or key
    mirror = {"name": other_side(part["name"]), "kind": part["kind"], "mirror_of": first}
    if "on" in part:
        mirror["on"] = {_other_panel(table, panel): {} for panel in part["on"]}
    own = free_key(mirror["name"], tuple(part_at(table, path[:-1])), "section")
    return with_part_after(table, path, own, mirror), own


def mirrored_panel(table: Table, key: str, at_mm: tuple[float, float]) -> tuple[Table, str]:
    """The tables with a panel's mirror right behind it, standing there in the drawing, and the mirror's name."""
    path = ("panels", key)
    part = part_at(table, path)
    first = part.get("mirror_of") or key
    mirror = {"name": other_side(part["name"]), "side": part["side"], "at_mm": list(at_mm), "mirror_of": first}
    own = free_key(mirror["name"], tuple(table["panels"]), "panel")
    return with_part_after(table, path, own, mirror), own


def other_side(name: str) -> str:
    """What the mirror of something is called.

    >>> other_side("Sleeve, right"), other_side("Left tuck"), other_side("Pocket")
    ('Sleeve, left', 'Right tuck', 'Pocket, mirrored')
    """
    swap = {"right": "left", "left": "right", "Right": "Left", "Left": "Right"}
    swapped = re.sub(r"\b(right|left|Right|Left)\b", lambda found: swap[found[0]], name)
    return f"{name}, mirrored" if swapped == name else swapped


def _other_panel(table: Table, key: str) -> str:
    """The panel that mirrors this one, or that it mirrors; itself where there is none."""
    of = table["panels"].get(key, {}).get("mirror_of")
    mirrors = (other for other, part in table["panels"].items() if part.get("mirror_of") == key)
    return of or next(mirrors, key)
