"""What a drawing needs to know of a garment: panels, their sections, and how much of each is done."""

from dataclasses import dataclass
from typing import Literal

from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.designs import Direction, SectionKind, Side, one_of
from service.reckoning.shapes import Place, Point, Rect

End = Literal["start", "end"]  # of a strip: its left or top end, its right or bottom end


@dataclass(frozen=True, slots=True)
class ShownSection:
    """One section on one panel.

    `bundles` are those on this panel; `done_fraction` is how much of it is worked, for a band its knots. `worked_from`
    is the end of the strip, seen from the right side, where the work began. `href` is an address of our own.
    """

    key: str
    name: str
    kind: SectionKind
    place: Place
    direction: Direction | None = None
    bundles: int = 0
    done_fraction: float = 0.0
    needs_hand: bool = False
    href: str = ""
    worked_from: End = "start"
    pair_rows: int = 1
    closed_round: bool = False

    def __post_init__(self) -> None:
        whole("bundles", self.bundles, 0)
        whole("pair_rows", self.pair_rows, 1, 2)
        not_below("done_fraction", self.done_fraction, 0, 1)
        if self.place.strips and self.direction is None:
            raise Wrong("direction", "a strip needs to run across or down")
        if self.href and (not self.href.startswith("/") or self.href.startswith("//")):
            raise Wrong("href", f"must be an address of our own, beginning with /, not {self.href!r}")

    @property
    def is_band(self) -> bool:
        """Whether threads are withdrawn for it."""
        return self.kind in BAND_KINDS

    @property
    def bundles_done(self) -> int:
        """Whole bundles' worth of its knots that are worked."""
        return int(self.bundles * self.done_fraction + 1e-6)


@dataclass(frozen=True, slots=True)
class ShownPanel:
    """One panel: its outline and sections in mm on its block, and where the block stands in its side's drawing."""

    key: str
    name: str
    side: Side
    outline: tuple[Point, ...]
    block_width_mm: float
    block_height_mm: float
    at_mm: Point = (0.0, 0.0)
    sections: tuple[ShownSection, ...] = ()

    def __post_init__(self) -> None:
        above_zero("block_width_mm", self.block_width_mm)
        above_zero("block_height_mm", self.block_height_mm)
        if len(self.outline) < 3:
            raise Wrong("outline", "needs three points or more")

    @property
    def extent(self) -> Rect:
        """The upright rectangle that its outline just fits, on its block in mm."""
        across, down = zip(*self.outline, strict=True)
        return Rect(min(across), min(down), max(across), max(down))


@dataclass(frozen=True, slots=True)
class ShownBand:
    """A band as it lies in the hand, for its close-up.

    `bundle_sizes` only where odd threads are spread over the bundles. `ends_at` says which ends have a stop line
    (at an open end the threads run out). `work_direction` is that of the section.
    """

    kind: BandKind
    name: str
    bundles: int
    bundle_threads: int = 4
    bundle_sizes: tuple[int, ...] = ()
    withdraw_threads: int = 0
    ends_at: tuple[End, ...] = ("start", "end")
    closed_round: bool = False
    pair_rows: int = 1
    work_direction: Literal["left to right", "right to left"] = "left to right"

    def __post_init__(self) -> None:
        one_of("kind", self.kind, BAND_KINDS)
        one_of("work_direction", self.work_direction, ("left to right", "right to left"))
        whole("bundles", self.bundles)
        whole("bundle_threads", self.bundle_threads, 1, 1000)
        whole("pair_rows", self.pair_rows, 1, 2)
        whole("withdraw_threads", self.withdraw_threads, 0)
        for end in self.ends_at:
            one_of("ends_at", end, ("start", "end"))
        if self.bundle_sizes and len(self.bundle_sizes) != self.bundles:
            raise Wrong("bundle_sizes", f"must say a size for each of the {self.bundles} bundles")

    @property
    def sizes(self) -> tuple[int, ...]:
        """The threads in each bundle, in order."""
        return self.bundle_sizes or (self.bundle_threads,) * self.bundles
