"""What is wrong with a design as written, before any cloth is chosen: each fault named by its place in the text."""

from collections import Counter
from collections.abc import Iterator

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.designs import (
    EDGES_OF,
    LINE_KINDS,
    POINT_KINDS,
    STRIP_KINDS,
    Design,
    PanelDesign,
    Placement,
    SectionDesign,
)
from service.reckoning.mirrors import drawn_up
from service.reckoning.outlines import line_along, outline_points
from service.reckoning.path_text import line_of

_BAND_FIELDS = (
    "withdraw_threads",
    "bundle_threads",
    "standing_threads",
    "stop_lines",
    "closed_round",
    "left_over",
    "hoop",
    "side_worked",
    "work_direction",
    "loop_direction",
    "clip_inside_threads",
    "folded_first",
    "corner_with",
)
_FIELDS_OF: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(BAND_KINDS, ("direction", "length_mm", "thread", *_BAND_FIELDS)),
    "tuck": ("direction", "length_mm", "depth_mm", "thread"),
    "binding": ("length_mm", "cloth", "finished_width_mm", "binding_seam_mm", "joins", "opening", "thread"),
    "seam": ("length_mm", "opening", "thread"),
    "lace": ("length_mm", "finished_width_mm", "thread"),
    "motif": ("number", "thread"),
    "closure": ("number", "thread"),
}
_ALSO = {
    "hem_band": ("catch_threads",),
    "ladder_paired": ("pair_rows",),
    "tuck_band": ("depth_mm", "opening_inside", "catch_threads"),
}
_ALWAYS = ("key", "name", "kind", "owner", "placements", "mirror_of", "cautions", "explained", "note")
MOST_SECTIONS = 400  # a slip in the text rather than a garment
_OF_A_MIRROR = ("key", "name", "kind", "owner", "placements", "mirror_of", "corner_with")
_LAYERS_OF_TWO = ("hem_band", "tuck_band")


def faults_of(design: Design) -> tuple[Wrong, ...]:
    """Return every fault of the design as written; an empty tuple means that it can be planned.

    Panels, sections, cloths and mirrors must exist under one name each, outlines must be sound, and every section
    must say what its kind needs and nothing else.
    """
    if len(design.every_section) > MOST_SECTIONS:
        return (_too_many(len(design.every_section)),)
    keys = _keys_with_mirrors(design)
    found = [*_names(design), *(wrong for panel in design.panels for wrong in _panel(design, panel))]
    found += [wrong for section in design.every_section for wrong in _section(design, section, keys)]
    if found:
        return tuple(found)
    try:
        whole = drawn_up(design)
    except Wrong as wrong:
        return (wrong,)
    if len(whole.every_section) > MOST_SECTIONS:
        return (_too_many(len(whole.every_section)),)
    return tuple(wrong for section in whole.every_section for wrong in _lines(whole, section))


def place_in_text(section: SectionDesign) -> str:
    """Return where a section stands in its design's text.

    >>> place_in_text(SectionDesign("front.hem", "Hem", "hem_band"))
    'panels.front.sections.hem'
    """
    panel, dot, name = section.key.rpartition(".")
    return f"panels.{panel}.sections.{name}" if dot else f"sections.{name}"


def _too_many(sections: int) -> Wrong:
    return Wrong("sections", f"there are {sections}; at most {MOST_SECTIONS} can be planned")


def _names(design: Design) -> Iterator[Wrong]:
    for names in (
        [f"cloths.{cloth.role}" for cloth in design.cloths],
        [f"panels.{panel.key}" for panel in design.panels],
        [place_in_text(section) for section in design.every_section],
    ):
        for name, times in Counter(names).items():
            if times > 1:
                yield Wrong(name, f"there are {times} of this name")
    for panel in design.panels:
        for section in panel.sections:
            on_it = {placement.panel for placement in section.placements} <= {panel.key}
            if section.owner != "panel" or not section.key.startswith(f"{panel.key}.") or not on_it:
                yield Wrong(place_in_text(section), f"must belong to {panel.key!r} and lie on it alone")
    for section in design.sections:
        if section.owner != "garment" or "." in section.key:
            yield Wrong(place_in_text(section), "must belong to the joined garment")


def _panel(design: Design, panel: PanelDesign) -> Iterator[Wrong]:
    path = f"panels.{panel.key}"
    if panel.mirror_of:
        yield from _mirrored_panel(design, panel, path)
        return
    if panel.cloth not in {cloth.role for cloth in design.cloths}:
        yield Wrong(f"{path}.cloth", f"there is no cloth called {panel.cloth!r}")
    try:
        outline_points(panel)
    except Wrong as wrong:
        yield Wrong(f"{path}.outline", wrong.sentence)


def _mirrored_panel(design: Design, panel: PanelDesign, path: str) -> Iterator[Wrong]:
    others = {other.key: other for other in design.panels}
    other = others.get(panel.mirror_of)
    if other is None or other.mirror_of:
        yield Wrong(f"{path}.mirror_of", f"there is no panel called {panel.mirror_of!r} that could be mirrored")
    if panel.sections or panel.outline:
        yield Wrong(f"{path}.mirror_of", "a mirrored panel has the other's outline and sections, none of its own")


def _section(design: Design, section: SectionDesign, keys: set[str]) -> Iterator[Wrong]:
    path = place_in_text(section)
    panels = {panel.key for panel in design.panels}
    for placement in section.placements:
        if placement.panel not in panels:
            yield Wrong(f"{path}.on.{placement.panel}", f"there is no panel called {placement.panel!r}")
    for other in section.corner_with:
        if other not in keys:
            yield Wrong(f"{path}.corner_with", f"there is no section called {other!r}")
    if section.mirror_of:
        yield from _mirror(design, section, path)
        return
    if section.cloth and section.cloth not in {cloth.role for cloth in design.cloths}:
        yield Wrong(f"{path}.cloth", f"there is no cloth called {section.cloth!r}")
    yield from _said_in_vain(section, path)
    yield from _missing(section, path)
    for placement in section.placements:
        yield from _placement(section, placement, _placement_path(section, placement))


def _mirror(design: Design, section: SectionDesign, path: str) -> Iterator[Wrong]:
    first = _first(design, section)
    if first is None:
        yield Wrong(f"{path}.mirror_of", f"there is no section called {section.mirror_of!r} that could be mirrored")
    elif first.kind != section.kind:
        yield Wrong(f"{path}.kind", f"must be {first.kind}, as the section it mirrors")
    for field in _fields_set(section):
        if field not in _OF_A_MIRROR:
            yield Wrong(f"{path}.{field}", "is taken from the section it mirrors: leave it out")


def _first(design: Design, section: SectionDesign) -> SectionDesign | None:
    """The section at the end of a row of mirrors, None when the row is broken or comes round again."""
    known = {other.key: other for other in design.every_section}
    found: SectionDesign | None = section
    while found is not None and found.mirror_of:
        found = known.pop(found.mirror_of, None)
    return found


def _keys_with_mirrors(design: Design) -> set[str]:
    own = {section.key for section in design.every_section}
    mirrored = {
        f"{panel.key}.{key.rpartition('.')[2]}"
        for panel in design.panels
        for key in own
        if panel.mirror_of and key.startswith(f"{panel.mirror_of}.")
    }
    return own | mirrored


def _said_in_vain(section: SectionDesign, path: str) -> Iterator[Wrong]:
    allowed = (*_ALWAYS, *_FIELDS_OF[section.kind], *_ALSO.get(section.kind, ()))
    for field in _fields_set(section):
        if field not in allowed:
            yield Wrong(f"{path}.{field}", f"a {section.kind.replace('_', ' ')} has none: leave it out")
    if section.hoop and section.kind in _LAYERS_OF_TWO:
        yield Wrong(f"{path}.hoop", "a hem or tuck is two layers and is worked without a hoop")
    if section.standing_threads is not None and section.length_mm is not None:
        yield Wrong(f"{path}.standing_threads", "give the standing threads or the length, one of the two")


def _fields_set(section: SectionDesign) -> tuple[str, ...]:
    plain = SectionDesign(section.key, section.name, section.kind)
    return tuple(field for field in SectionDesign.__slots__ if getattr(section, field) != getattr(plain, field))


def _missing(section: SectionDesign, path: str) -> Iterator[Wrong]:
    needs: tuple[str, ...] = ()
    if section.kind in STRIP_KINDS:
        needs = ("direction", *(("withdraw_threads",) if section.is_band else ("depth_mm",)))
    if section.kind == "tuck_band":
        needs = (*needs, "depth_mm")
    for field in needs:
        if getattr(section, field) is None:
            yield Wrong(f"{path}.{field}", f"is needed for a {section.kind.replace('_', ' ')}")
    if not section.placements:
        yield Wrong(f"{path}.on", "say which panel it lies on")
    if section.kind in LINE_KINDS and section.length_mm is None and not any(one.along for one in section.placements):
        yield Wrong(f"{path}.along", "say along which line it runs, or its length")
    if section.kind in POINT_KINDS and section.number is None and not any(one.points for one in section.placements):
        yield Wrong(f"{path}.points", "say where they stand, or their number")


def _placement(section: SectionDesign, placement: Placement, path: str) -> Iterator[Wrong]:
    is_strip = section.kind in STRIP_KINDS
    if is_strip and section.direction and placement.edge not in EDGES_OF[section.direction]:
        edges = " or the ".join(EDGES_OF[section.direction])
        yield Wrong(f"{path}.edge", f"a section that runs {section.direction} is placed from the {edges}")
    if not is_strip and placement.edge is not None:
        yield Wrong(f"{path}.edge", f"a {section.kind} is not placed from an edge")
    if placement.along and section.kind not in LINE_KINDS:
        told = "follow no line but one straight thread: place it from an edge, or bind a curved edge in bias"
        yield Wrong(f"{path}.along", f"a {section.kind.replace('_', ' ')} can {told}")
    if placement.points and section.kind not in POINT_KINDS:
        yield Wrong(f"{path}.points", f"a {section.kind.replace('_', ' ')} does not stand at points")


def _lines(whole: Design, section: SectionDesign) -> Iterator[Wrong]:
    for placement in section.placements:
        path = _placement_path(section, placement)
        try:
            if placement.along:
                line_along(outline_points(whole.panel(placement.panel)), placement.along)
            if placement.points:
                line_of(placement.points, "points")
        except Wrong as wrong:
            yield Wrong(f"{path}.{wrong.field}", wrong.sentence)


def _placement_path(section: SectionDesign, placement: Placement) -> str:
    path = place_in_text(section)
    return path if section.owner == "panel" else f"{path}.on.{placement.panel}"
