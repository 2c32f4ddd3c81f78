"""Garments being made: their panels, sections and steps, each with what is planned and what is done."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Float, Index, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

GARMENT_STATES = ("planned", "in work", "finished", "delivered", "called off")
SECTION_KINDS = (
    "hem_band",
    "ladder",
    "ladder_paired",
    "serpentine",
    "alternating",
    "tuck_band",
    "tuck",
    "binding",
    "seam",
    "lace",
    "motif",
    "closure",
)
OWNERS = ("panel", "garment")
SIDES = ("front", "back", "both")
DIRECTIONS = ("across", "down")
DEPTH_CHOICES = ("keep_width", "keep_threads")
BUNDLE_CHOICES = ("keep_threads", "keep_width")
LEFT_OVER_WAYS = ("shorter", "longer", "spread", "into_seam")


class Garment(SQLModel, table=True):
    """One piece being made for a commission.

    `document` is the design as it was when the garment was planned. The summary (`planned_ms`,
    `left_ms`, `next_step_id`, `start_by`) is written with every tally and proved by `check`.
    """

    __table_args__ = (
        said("name"),
        one_of("state", GARMENT_STATES),
        at_least("planned_ms", 0),
        at_least("left_ms", 0),
        CheckConstraint("left_ms <= planned_ms", name="left_within_planned"),
        Index(None, "state", "start_by", "id"),
        Index(None, "state", "finished_at", "id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    commission_id: int = Field(foreign_key="commission.id", index=True)
    design_id: int = Field(foreign_key="design.id", index=True)
    name: str = Field(index=True)
    size: str = ""
    state: str = "planned"
    document: str = Field(sa_type=Text)
    wanted_on: date
    planned_ms: int = Field(default=0, sa_type=Whole)
    left_ms: int = Field(default=0, sa_type=Whole)
    next_step_id: int | None = Field(default=None, sa_type=Whole)
    start_by: date
    holder_id: int | None = Field(default=None, foreign_key="stitcher.id", index=True)
    joined_at: datetime | None = Field(default=None, sa_type=Instant)
    created_at: datetime = Field(sa_type=Instant)
    finished_at: datetime | None = Field(default=None, sa_type=Instant)
    delivered_at: datetime | None = Field(default=None, sa_type=Instant)
    called_off_at: datetime | None = Field(default=None, sa_type=Instant)


class Panel(SQLModel, table=True):
    """One block of cloth of a garment, on the shelf (no holder) or in one stitcher's hands.

    `outline` is the cutting line in mm on the block, as SVG points; the cut size is the block before its tucks.
    """

    __table_args__ = (
        UniqueConstraint("garment_id", "key"),
        said("key", 80),
        said("name"),
        one_of("side", SIDES),
        at_least("cut_width_um", 1),
        at_least("cut_height_um", 1),
        CheckConstraint("warp_per_cm > 0 AND warp_per_cm < 1000", name="warp_count"),
        CheckConstraint("weft_per_cm > 0 AND weft_per_cm < 1000", name="weft_count"),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    key: str
    name: str
    position: int = Field(sa_type=Whole)
    cloth_id: int = Field(foreign_key="cloth.id", index=True)
    warp_per_cm: float = Field(sa_type=Float)
    weft_per_cm: float = Field(sa_type=Float)
    cloth_role: str
    side: str
    at_x_um: int = Field(default=0, sa_type=Whole)
    at_y_um: int = Field(default=0, sa_type=Whole)
    block_width_um: int = Field(sa_type=Whole)
    block_height_um: int = Field(sa_type=Whole)
    cut_width_um: int = Field(sa_type=Whole)
    cut_height_um: int = Field(sa_type=Whole)
    outline: str = Field(sa_type=Text)
    holder_id: int | None = Field(default=None, foreign_key="stitcher.id", index=True)


class Section(SQLModel, table=True):
    """One stretch of work as planned on this garment's cloth; counts are null where the kind has none.

    `places` says where it lies on each of its panels, as written by `service.studio.places`;
    `bundle_sizes` is empty while all bundles hold `bundle_threads`.
    """

    __table_args__ = (
        UniqueConstraint("garment_id", "key"),
        said("key", 80),
        said("name"),
        one_of("kind", SECTION_KINDS),
        one_of("owner", OWNERS),
        one_of("direction", DIRECTIONS),
        one_of("depth_choice", DEPTH_CHOICES),
        one_of("bundle_choice", BUNDLE_CHOICES),
        one_of("left_over_way", LEFT_OVER_WAYS),
        CheckConstraint("owner = 'garment' OR panel_id IS NOT NULL", name="panel_owns_it"),
        at_least("withdrawn_threads", 1),
        at_least("standing_threads", 1),
        at_least("bundle_threads", 1),
        at_least("bundles", 0),
        between("stop_lines", 0, 2),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    panel_id: int | None = Field(default=None, foreign_key="panel.id", index=True)
    key: str
    name: str
    kind: str
    owner: str
    position: int = Field(sa_type=Whole)
    mirror_of: str = ""
    direction: str | None = None
    withdrawn_threads: int | None = Field(default=None, sa_type=Whole)
    standing_threads: int | None = Field(default=None, sa_type=Whole)
    bundle_threads: int | None = Field(default=None, sa_type=Whole)
    bundles: int | None = Field(default=None, sa_type=Whole)
    bundle_sizes: str = Field(default="", sa_type=Text)
    places: str = Field(default="[]", sa_type=Text)
    catch_threads: int | None = Field(default=None, sa_type=Whole)
    stop_lines: int | None = Field(default=None, sa_type=Whole)
    width_um: int | None = Field(default=None, sa_type=Whole)
    length_um: int | None = Field(default=None, sa_type=Whole)
    withdrawn_per_cm: float | None = Field(default=None, sa_type=Float)
    standing_per_cm: float | None = Field(default=None, sa_type=Float)
    depth_choice: str | None = None
    bundle_choice: str | None = None
    left_over_way: str | None = None
    accepted: bool = False
    side_worked: str = ""
    work_direction: str = ""
    loop_direction: str = ""
    hoop: bool = False
    clip_inside_threads: int | None = Field(default=None, sa_type=Whole)
    thread: str = ""
    notes: str = Field(default="", sa_type=Text)


class Step(SQLModel, table=True):
    """One operation on a panel (no section) or section. Amounts are whole tenths of the unit."""

    __table_args__ = (
        said("operation", 40),
        said("unit", 20),
        at_least("quantity_tenths", 0),
        at_least("done_tenths", 0),
        CheckConstraint("done_tenths <= quantity_tenths", name="done_within_quantity"),
        at_least("unit_ms", 0),
        CheckConstraint("panel_id IS NOT NULL OR section_id IS NOT NULL", name="belongs"),
        Index(None, "garment_id", "position"),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    panel_id: int | None = Field(default=None, foreign_key="panel.id", index=True)
    section_id: int | None = Field(default=None, foreign_key="section.id", index=True)
    position: int = Field(sa_type=Whole)
    operation: str
    unit: str
    quantity_tenths: int = Field(sa_type=Whole)
    done_tenths: int = Field(default=0, sa_type=Whole)
    unit_ms: int = Field(sa_type=Whole)
    thread_length_um: int | None = Field(default=None, sa_type=Whole)
    note: str = Field(default="", sa_type=Text)
