"""A garment planned on this cloth: what carrying a design over gives, panel by panel and section by section."""

from dataclasses import dataclass
from typing import Literal, get_args

from service.reckoning.asked import Wrong
from service.reckoning.bands import LEFT_OVER_WAYS, LeftOverChoice, LeftOverWay
from service.reckoning.designs import (
    ClothCounts,
    Direction,
    Edge,
    Owner,
    SectionDesign,
    SectionKind,
    Side,
    one_of,
)
from service.reckoning.findings import Finding
from service.reckoning.shapes import Place, Point
from service.reckoning.steps import PanelSteps, StepPlan

DepthChoice = Literal["keep_width", "keep_threads"]
BundleChoice = Literal["keep_threads", "keep_width"]


@dataclass(frozen=True, slots=True)
class SectionChoice:
    """What the maker chose for one section and its mirrors.

    `left_over` None takes the design's own way. `accepted` lets the section be made as it comes out although
    a finding would have it wait (an odd bundle, say); what cannot be worked at all waits all the same.
    """

    depth: DepthChoice = "keep_width"
    bundle: BundleChoice = "keep_threads"
    left_over: LeftOverWay | None = None
    accepted: bool = False

    def __post_init__(self) -> None:
        one_of("depth", self.depth, get_args(DepthChoice))
        one_of("bundle", self.bundle, get_args(BundleChoice))
        if self.left_over is not None:
            one_of("left_over", self.left_over, LEFT_OVER_WAYS)


@dataclass(frozen=True, slots=True)
class SectionFigures:
    """A section in figures on one cloth; None where its kind has no such figure.

    `width_mm` is that of the withdrawn threads (a binding's and lace's: finished), `depth_mm` a tuck's from fold to
    knotted line. `bundle_sizes` is filled only where odd threads are spread. `left_over_threads` stand beside the whole
    bundles: in a seam, or waiting for a choice.
    """

    withdraw_threads: int | None = None
    width_mm: float | None = None
    depth_threads: int | None = None
    depth_mm: float | None = None
    standing_threads: int | None = None
    length_mm: float | None = None
    bundle_threads: int | None = None
    bundles: int | None = None
    bundle_sizes: tuple[int, ...] = ()
    left_over_threads: int = 0
    knots: int = 0
    seconds: float = 0


@dataclass(frozen=True, slots=True)
class PanelPlace:
    """Where a section lies on one of its panels, on this cloth."""

    panel: str
    place: Place


@dataclass(frozen=True, slots=True)
class SectionPlan:
    """One section on the design's cloth (`before`) and on this one (`after`).

    `design` is the section as drawn up, mirrors filled in. `error_mm` is what the width came out wider (above zero)
    or narrower than drawn up. `left_over_choices` are the ways open for the threads left over. `waits` while a
    finding that wants a choice has had none.
    """

    key: str
    name: str
    kind: SectionKind
    owner: Owner
    panels: tuple[str, ...]
    mirror_of: str
    direction: Direction | None
    counts: ClothCounts
    before: SectionFigures
    after: SectionFigures
    error_mm: float
    choice: SectionChoice
    left_over: LeftOverWay | None
    left_over_choices: tuple[LeftOverChoice, ...]
    findings: tuple[Finding, ...]
    places: tuple[PanelPlace, ...]
    steps: tuple[StepPlan, ...]
    waits: bool
    design: SectionDesign


@dataclass(frozen=True, slots=True)
class SpacePlan:
    """The cloth left standing between two sections, or (`first` empty) between the outline's edge and the first."""

    panel: str
    direction: Direction
    edge: Edge
    first: str
    second: str
    before_threads: int
    before_mm: float
    after_threads: int
    after_mm: float
    error_mm: float


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """One panel on this cloth. The cut size is the block and what its tucks take up."""

    key: str
    name: str
    side: Side
    cloth: str
    counts: ClothCounts
    block_width_mm: float
    block_height_mm: float
    cut_width_mm: float
    cut_height_mm: float
    at_mm: tuple[float, float]
    outline: tuple[Point, ...]
    steps: PanelSteps


@dataclass(frozen=True, slots=True)
class GarmentPlan:
    """The whole garment on this cloth. `waits` while any section does."""

    design: str
    name: str
    panels: tuple[PanelPlan, ...]
    sections: tuple[SectionPlan, ...]
    spaces: tuple[SpacePlan, ...]
    knots_before: int
    knots_after: int
    seconds_before: float
    seconds_after: float
    waits: bool

    @property
    def panel_seconds(self) -> float:
        """The seconds of what is done to the panels themselves (cut, wash, trace, cut out), a part of both sums."""
        return self.seconds_after - sum(section.after.seconds for section in self.sections)

    def section(self, key: str) -> SectionPlan:
        """Return the section of that key, or raise Wrong."""
        for section in self.sections:
            if section.key == key:
                return section
        raise Wrong("section", f"there is no section called {key!r}")

    def panel(self, key: str) -> PanelPlan:
        """Return the panel of that key, or raise Wrong."""
        for panel in self.panels:
            if panel.key == key:
                return panel
        raise Wrong("panel", f"there is no panel called {key!r}")
