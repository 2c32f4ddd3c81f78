"""A design written as TOML in one way only, what is as usual left out: a text read and written stays the same."""

import textwrap
from collections.abc import Iterator
from dataclasses import MISSING, fields
from typing import Any

from service.reckoning.design_text import COUNT_FIELDS, PLACEMENT_FIELDS
from service.reckoning.designs import ClothDesign, Design, PanelDesign, Placement, SectionDesign
from service.reckoning.path_text import is_path

_ESCAPES = {"\\": "\\\\", '"': '\\"', "\b": "\\b", "\t": "\\t", "\f": "\\f", "\r": "\\r", "\n": "\\n"}
_FIRST = ("name", "kind", "mirror_of", "direction")
_LAST = ("thread", "cautions", "explained", "note")
_IN_TABLES = ("key", "role", "counts", "cloths", "panels", "sections", "placements", "owner", "panel")
_WIDEST = 100
_SHORT = 60


def write_design(design: Design) -> str:
    """Return the design as text; reading it gives the same design, and writing that the same text.

    >>> from service.reckoning.design_text import read_design
    >>> bib = read_design('''key = "bib"
    ... name = "Bib"
    ... [cloths.bib]
    ... name = "Linen"
    ... warp_per_cm = 20
    ... weft_per_cm = 19.0
    ... [panels.front]
    ... name = "Front"
    ... side = "front"
    ... cloth = "bib"
    ... block_width_mm = 220
    ... block_height_mm = 260
    ... outline = "M 20,20 H 200 V 240 H 20 Z"
    ... ''')
    >>> print(write_design(bib).partition("[panels")[0].rstrip())
    key = "bib"
    name = "Bib"
    <BLANKLINE>
    [cloths.bib]
    name = "Linen"
    warp_per_cm = 20
    weft_per_cm = 19
    """
    blocks = [
        [f"key = {_text(design.key)}", *_lines(design)],
        *([f"[cloths.{cloth.role}]", *_cloth(cloth)] for cloth in design.cloths),
        *(block for panel in design.panels for block in _panel(panel)),
        *(block for section in design.sections for block in _garment_section(section)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _cloth(cloth: ClothDesign) -> Iterator[str]:
    yield from _lines(cloth)
    for name in COUNT_FIELDS:
        yield f"{name} = {_value(getattr(cloth.counts, name))}"


def _panel(panel: PanelDesign) -> Iterator[list[str]]:
    yield [f"[panels.{panel.key}]", *_lines(panel)]
    for section in panel.sections:
        head = f"[panels.{panel.key}.sections.{section.key.rpartition('.')[2]}]"
        yield [head, *_section(section, section.placements[0])]


def _garment_section(section: SectionDesign) -> Iterator[list[str]]:
    yield [f"[sections.{section.key}]", *_section(section, None)]
    for placement in section.placements:
        yield [f"[sections.{section.key}.on.{placement.panel}]", *_lines(placement)]


def _section(section: SectionDesign, placement: Placement | None) -> Iterator[str]:
    yield from _lines(section, only=_FIRST)
    if placement is not None:
        yield from _lines(placement, only=PLACEMENT_FIELDS)
    yield from _lines(section, leave=(*_FIRST, *_LAST))
    yield from _lines(section, only=_LAST)


def _lines(record: Any, only: tuple[str, ...] = (), leave: tuple[str, ...] = ()) -> Iterator[str]:
    """One line for every field that is not as usual, in the order of the record, or of `only`."""
    by_name = {field.name: field for field in fields(record)}
    for name in only or by_name:
        value = getattr(record, name)
        usual = by_name[name].default
        if name in _IN_TABLES or name in leave or (usual is not MISSING and value == usual):
            continue
        yield f"{name} = {_drawn(value) if name == 'outline' else _value(value)}"


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return str(int(value)) if value == int(value) else repr(value)
    if isinstance(value, str):
        return _words(value) if "\n" in value else _text(value)
    if isinstance(value, tuple) and value and isinstance(value[0], tuple):
        return "{ " + ", ".join(f"{code} = {_text(why)}" for code, why in value) + " }"
    return "[" + ", ".join(_value(one) for one in value) + "]" if isinstance(value, tuple) else _text(str(value))


def _text(text: str) -> str:
    return '"' + "".join(_letter(letter) for letter in text) + '"'


def _words(text: str) -> str:
    """Text of several lines, each on its own."""
    return '"""\n' + "\n".join(_text(line)[1:-1] for line in text.split("\n")) + '"""'


def _letter(letter: str) -> str:
    is_control = ord(letter) < 0x20 or ord(letter) == 0x7F
    return _ESCAPES.get(letter, f"\\u{ord(letter):04x}" if is_control else letter)


def _drawn(line: str) -> str:
    """An outline, a path's every command on its own line."""
    if len(line) <= _SHORT:
        return _text(line)
    if not is_path(line):
        return '"""\n' + "\n".join(textwrap.wrap(line, _WIDEST)) + '"""'
    broken = "".join(f"\n{letter}" if letter.isalpha() and at else letter for at, letter in enumerate(line))
    return '"""\n' + "\n".join(part.strip() for part in broken.split("\n")) + '"""'
