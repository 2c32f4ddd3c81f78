"""A garment as drawn up: cloths, panels and sections with their counts on the cloth it was designed for.

Lengths are in mm on the panel's block: x across the cloth from its left edge, y down along the warp from
its top edge. The block is the panel with its tucks made; what the tucks take up is added when it is cut.
A band "across" withdraws weft threads and bundles warp threads; a band "down" the other way about.
"""

import re
from dataclasses import dataclass
from typing import Literal

from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.bands import BUNDLE_THREADS, LEFT_OVER_WAYS, LeftOverWay
from service.reckoning.counts import MOST_THREADS, checked_count

SectionKind = Literal[BandKind, "tuck", "binding", "seam", "lace", "motif", "closure"]
Owner = Literal["panel", "garment"]
Side = Literal["front", "back", "both"]
Direction = Literal["across", "down"]
Edge = Literal["top", "bottom", "left", "right"]
ClothSide = Literal["right", "wrong"]
GrowsBy = Literal["body", "head"]
WorkDirection = Literal["left to right", "right to left"]
LoopDirection = Literal["clockwise", "anticlockwise"]

STRIP_KINDS: tuple[SectionKind, ...] = (*BAND_KINDS, "tuck")
LINE_KINDS: tuple[SectionKind, ...] = ("binding", "seam", "lace")
POINT_KINDS: tuple[SectionKind, ...] = ("motif", "closure")
SECTION_KINDS: tuple[SectionKind, ...] = (*STRIP_KINDS, *LINE_KINDS, *POINT_KINDS)
EDGES_OF: dict[Direction, tuple[Edge, Edge]] = {"across": ("top", "bottom"), "down": ("left", "right")}

LONGEST_MM = 10_000  # 10 m: a slip of the keyboard rather than a garment

_KEY = re.compile(r"[a-z][a-z0-9_]{0,39}(\.[a-z][a-z0-9_]{0,39})?")


class Faults(ValueError):
    """Everything that is wrong with a design, each fault named by its place in the design's text."""

    def __init__(self, wrongs: tuple[Wrong, ...]) -> None:
        super().__init__("; ".join(str(wrong) for wrong in wrongs))
        self.wrongs = wrongs


@dataclass(frozen=True, slots=True)
class ClothCounts:
    """Threads per cm of one cloth: its warp threads, and its weft threads."""

    warp_per_cm: float
    weft_per_cm: float

    def __post_init__(self) -> None:
        checked_count("warp_per_cm", self.warp_per_cm)
        checked_count("weft_per_cm", self.weft_per_cm)

    def withdrawn_per_cm(self, direction: Direction) -> float:
        """Threads per cm of the system a band in that direction withdraws.

        >>> ClothCounts(20, 19).withdrawn_per_cm("across")
        19
        """
        return self.weft_per_cm if direction == "across" else self.warp_per_cm

    def standing_per_cm(self, direction: Direction) -> float:
        """Threads per cm of the system a band in that direction bundles.

        >>> ClothCounts(20, 19).standing_per_cm("across")
        20
        """
        return self.warp_per_cm if direction == "across" else self.weft_per_cm


@dataclass(frozen=True, slots=True)
class ClothDesign:
    """One cloth the design was drawn up for, by its role in the garment ("gown", "binding")."""

    role: str
    name: str
    counts: ClothCounts

    def __post_init__(self) -> None:
        key("role", self.role)
        said("name", self.name)


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a section lies on one panel.

    Strips (bands and tucks): the nearer edge lies `distance_mm` inside the outermost point of the pattern's
    outline on the side `edge`; a band across counts from the top or the bottom, a band down from the left or
    the right. `from_mm` and `to_mm` end it along its length, measured on the block from the left or the top;
    without them it runs to the outline. Lines follow the outline clockwise between the two points of `along`
    (more points: a line of its own). Points stand at `points`. Both are written as in SVG: "x,y x,y".
    `seams_mm` is what its length on this panel loses in joining seams.
    """

    panel: str
    edge: Edge | None = None
    distance_mm: float = 0
    from_mm: float | None = None
    to_mm: float | None = None
    along: str = ""
    points: str = ""
    seams_mm: float = 0

    def __post_init__(self) -> None:
        key("panel", self.panel)
        if self.edge is not None:
            one_of("edge", self.edge, ("top", "bottom", "left", "right"))
        not_below("distance_mm", self.distance_mm, at_most=LONGEST_MM)
        not_below("seams_mm", self.seams_mm, at_most=LONGEST_MM)
        if self.from_mm is not None:
            not_below("from_mm", self.from_mm, at_most=LONGEST_MM)
        if self.to_mm is not None:
            above_zero("to_mm", self.to_mm, LONGEST_MM)
        if self.from_mm is not None and self.to_mm is not None and self.to_mm <= self.from_mm:
            raise Wrong("to_mm", f"must lie beyond from_mm, {self.from_mm:g} mm, not at {self.to_mm:g} mm")


@dataclass(frozen=True, slots=True)
class SectionDesign:
    """One stretch of work as drawn up. Its key is "panel.name" when a panel owns it, else "name".

    A section with `mirror_of` says nothing else but its key, name, owner and placement's panel: it is that
    section mirrored about its panel's middle (see `mirrors.drawn_up`). `length_mm` or `standing_threads`
    are wanted only where the length is not that of the clipped outline. `explained` pairs the code of a
    finding with the reason why the maker need not mind it.
    """

    key: str
    name: str
    kind: SectionKind
    owner: Owner = "panel"
    placements: tuple[Placement, ...] = ()
    mirror_of: str = ""
    direction: Direction | None = None
    # bands
    withdraw_threads: int | None = None
    bundle_threads: int = BUNDLE_THREADS
    standing_threads: int | None = None
    length_mm: float | None = None
    stop_lines: int = 1
    closed_round: bool = False
    pair_rows: int = 1
    left_over: LeftOverWay | None = None
    catch_threads: int | None = None
    hoop: bool = False
    side_worked: ClothSide | None = None
    work_direction: WorkDirection | None = None
    loop_direction: LoopDirection | None = None
    clip_inside_threads: int = 0
    folded_first: bool = False  # a facing is folded and basted before the band is placed inside its edge
    corner_with: tuple[str, ...] = ()
    # tucks: fold to knotted line; whether the drawn opening lies inside the tuck
    depth_mm: float | None = None
    opening_inside: bool = False
    # bindings, seams, lace
    cloth: str = ""
    finished_width_mm: float | None = None
    binding_seam_mm: float | None = None
    joins: int = 0
    opening: bool = False  # it runs round an opening for the head or neck
    # motifs, closures
    number: int | None = None
    thread: str = ""
    cautions: tuple[str, ...] = ()
    explained: tuple[tuple[str, str], ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        key("key", self.key)
        said("name", self.name)
        one_of("kind", self.kind, SECTION_KINDS)
        one_of("owner", self.owner, ("panel", "garment"))
        for field, most in (("withdraw_threads", 10_000), ("standing_threads", MOST_THREADS), ("number", 10_000)):
            if (count := getattr(self, field)) is not None:
                whole(field, count, at_most=most)
        for field in ("length_mm", "depth_mm", "finished_width_mm", "binding_seam_mm"):
            if (length := getattr(self, field)) is not None:
                above_zero(field, length, LONGEST_MM)
        whole("bundle_threads", self.bundle_threads, 1, 1000)
        whole("stop_lines", self.stop_lines, 0, 2)
        whole("pair_rows", self.pair_rows, 1, 2)
        whole("clip_inside_threads", self.clip_inside_threads, 0, 20)
        whole("joins", self.joins, 0, 1000)
        for field, word, words in (
            ("direction", self.direction, tuple(EDGES_OF)),
            ("left_over", self.left_over, LEFT_OVER_WAYS),
            ("side_worked", self.side_worked, ("right", "wrong")),
            ("work_direction", self.work_direction, ("left to right", "right to left")),
            ("loop_direction", self.loop_direction, ("clockwise", "anticlockwise")),
        ):
            if word is not None:
                one_of(field, word, words)
        if self.catch_threads is not None:
            whole("catch_threads", self.catch_threads, 1, 100)
        for code, why in self.explained:
            key("explained", code)
            said(f"explained.{code}", why)

    @property
    def is_band(self) -> bool:
        """Whether threads are withdrawn for it."""
        return self.kind in BAND_KINDS


@dataclass(frozen=True, slots=True)
class PanelDesign:
    """A block of cloth with the pattern's outline (the cutting line) inside it.

    `outline` is written as SVG points ("x,y x,y …") or as SVG path data with the absolute commands M L H V C Q Z.
    On a fold only the right half is drawn, from the block's middle and back to it; the left half mirrors it.
    `at_mm` is where the block's upper left corner stands in the drawing of the garment's front or back.
    In another size it grows with the body, or with the head (a bonnet, a collar).
    A panel with `mirror_of` says only its key, name, side and place: it has that panel's cloth, block, outline
    and sections, all mirrored (see `mirrors.drawn_up`).
    """

    key: str
    name: str
    side: Side
    cloth: str = ""
    block_width_mm: float = 0
    block_height_mm: float = 0
    outline: str = ""
    on_fold: bool = False
    at_mm: tuple[float, float] = (0, 0)
    grows_by: GrowsBy = "body"
    mirror_of: str = ""
    sections: tuple[SectionDesign, ...] = ()

    def __post_init__(self) -> None:
        key("key", self.key)
        said("name", self.name)
        one_of("side", self.side, ("front", "back", "both"))
        one_of("grows_by", self.grows_by, ("body", "head"))
        if len(self.at_mm) != 2:
            raise Wrong("at_mm", "must be two numbers, across and down")
        for number in self.at_mm:
            not_below("at_mm", number, -LONGEST_MM, LONGEST_MM)
        if not self.mirror_of:
            above_zero("block_width_mm", self.block_width_mm, LONGEST_MM)
            above_zero("block_height_mm", self.block_height_mm, LONGEST_MM)


@dataclass(frozen=True, slots=True)
class Design:
    """A garment as drawn up: its cloths, its panels with their own sections, the joined garment's sections."""

    key: str
    name: str
    cloths: tuple[ClothDesign, ...]
    panels: tuple[PanelDesign, ...]
    sections: tuple[SectionDesign, ...] = ()
    size: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        key("key", self.key)
        said("name", self.name)
        if not self.cloths:
            raise Wrong("cloths", "a design needs at least one")
        if not self.panels:
            raise Wrong("panels", "a design needs at least one")

    @property
    def every_section(self) -> tuple[SectionDesign, ...]:
        """The panels' sections, panel by panel, then the joined garment's."""
        return (*(section for panel in self.panels for section in panel.sections), *self.sections)

    def panel(self, key_: str) -> PanelDesign:
        """Return the panel of that key, or raise Wrong."""
        for panel in self.panels:
            if panel.key == key_:
                return panel
        raise Wrong("panel", f"there is no panel called {key_!r}")

    def counts(self, role: str) -> ClothCounts:
        """Return the counts of the cloth in that role, or raise Wrong."""
        for cloth in self.cloths:
            if cloth.role == role:
                return cloth.counts
        raise Wrong("cloth", f"there is no cloth called {role!r}")


def key(field: str, value: str) -> str:
    """Return a key of small letters, digits and underlines, else raise Wrong.

    >>> key("key", "front.hem")
    'front.hem'
    """
    if not isinstance(value, str) or not _KEY.fullmatch(value):
        raise Wrong(field, f"must be small letters, digits and underlines, not {value!r}")
    return value


def said(field: str, value: str) -> str:
    """Return a text that says something, else raise Wrong."""
    if not isinstance(value, str) or not value.strip():
        raise Wrong(field, "must not be empty")
    return value


def one_of(field: str, value: str, allowed: tuple[str, ...]) -> str:
    """Return a value that is one of the allowed words, else raise Wrong.

    >>> one_of("side", "inside", ("front", "back", "both"))
    Traceback (most recent call last):
    service.reckoning.asked.Wrong: side: must be one of front, back, both, not 'inside'
    """
    if value not in allowed:
        raise Wrong(field, f"must be one of {', '.join(allowed)}, not {value!r}")
    return value
