"""Pieces changing hands: what is handed over, where each section stopped, what travels; needles and pins that broke."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, Text, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

HANDOVER_STATES = ("offered", "taken", "sent back")
SHARP_THINGS = ("needle", "pin")
MOST_SHARP = 1000
MOST_BUNDLES_TENTHS = 5000
SHORT = text("needles_out > needles_in + needles_found OR pins_out > pins_in + pins_found")


class Handover(SQLModel, table=True):
    """Panels, or a joined garment, offered from hand to hand; nobody (null) is the shelf.

    Needles and pins are counted out by the giver and in by the receiver; what is missing stays open until found.
    Bundles are those on 50 mm, in tenths, at two places: the giver's on the work, the receiver's on her sample.
    """

    __table_args__ = (
        one_of("state", HANDOVER_STATES),
        CheckConstraint("(state = 'offered') = (ended_at IS NULL)", name="ended_when_answered"),
        CheckConstraint(
            "(state = 'taken') = (needles_in IS NOT NULL) AND (state = 'taken') = (pins_in IS NOT NULL)",
            name="counted_when_taken",
        ),
        CheckConstraint("state <> 'sent back' OR length(reason) > 0", name="sent_back_for_a_reason"),
        CheckConstraint("needles_in IS NULL OR needles_in + needles_found <= needles_out", name="needles_no_more"),
        CheckConstraint("pins_in IS NULL OR pins_in + pins_found <= pins_out", name="pins_no_more"),
        *(between(f"{sharp}_out", 0, MOST_SHARP) for sharp in ("needles", "pins")),
        *(at_least(f"{sharp}_in", 0) for sharp in ("needles", "pins")),
        *(at_least(f"{sharp}_found", 0) for sharp in ("needles", "pins")),
        *(
            between(column, 1, MOST_BUNDLES_TENTHS)
            for column in ("given_first_tenths", "given_second_tenths", "sample_first_tenths", "sample_second_tenths")
        ),
        Index(None, "garment_id", "id"),
        Index(None, "to_id", "state"),
        Index(None, "state", "id"),
        Index("ix_handover_short", "id", sqlite_where=SHORT, postgresql_where=SHORT),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    to_id: int | None = Field(default=None, foreign_key="stitcher.id")
    state: str = "offered"
    as_one: bool = False
    offered_by: int = Field(foreign_key="account.id", index=True)
    offered_at: datetime = Field(sa_type=Instant)
    ended_by: int | None = Field(default=None, foreign_key="account.id", index=True)
    ended_at: datetime | None = Field(default=None, sa_type=Instant)
    needles_out: int = Field(default=0, sa_type=Whole)
    pins_out: int = Field(default=0, sa_type=Whole)
    needles_in: int | None = Field(default=None, sa_type=Whole)
    pins_in: int | None = Field(default=None, sa_type=Whole)
    needles_found: int = Field(default=0, sa_type=Whole)
    pins_found: int = Field(default=0, sa_type=Whole)
    tension: str = ""
    given_first_tenths: int | None = Field(default=None, sa_type=Whole)
    given_second_tenths: int | None = Field(default=None, sa_type=Whole)
    sample_first_tenths: int | None = Field(default=None, sa_type=Whole)
    sample_second_tenths: int | None = Field(default=None, sa_type=Whole)
    sampled_at: datetime | None = Field(default=None, sa_type=Instant)
    odd: str = Field(default="", sa_type=Text)
    notes: str = Field(default="", sa_type=Text)
    reason: str = Field(default="", sa_type=Text)


class HandoverPanel(SQLModel, table=True):
    """A panel handed over and whose it was. `is_open` while it is only offered: a panel is offered once at a time."""

    __tablename__ = "handover_panel"
    __table_args__ = (
        UniqueConstraint("handover_id", "panel_id"),
        Index(
            "uq_handover_panel_open",
            "panel_id",
            unique=True,
            sqlite_where=text("is_open"),
            postgresql_where=text("is_open"),
        ),
    )

    id: int | None = Field(default=None, primary_key=True)
    handover_id: int = Field(foreign_key="handover.id")
    panel_id: int = Field(foreign_key="panel.id", index=True)
    from_id: int | None = Field(default=None, foreign_key="stitcher.id", index=True)
    is_open: bool = True


class HandoverPlace(SQLModel, table=True):
    """Where a section stopped: the step in hand, how far it was, and how it was worked.

    `pass_words` and `from_end` say which row of the band, and from which end it is counted; `next_number` of
    `whole_number` is what comes next. Kept when the piece is offered, and again as it was when it was taken.
    """

    __tablename__ = "handover_place"
    __table_args__ = (
        UniqueConstraint("handover_id", "section_id"),
        at_least("done_tenths", 0),
        at_least("next_number", 1),
        at_least("whole_number", 1),
    )

    id: int | None = Field(default=None, primary_key=True)
    handover_id: int = Field(foreign_key="handover.id")
    section_id: int = Field(foreign_key="section.id", index=True)
    step_id: int = Field(foreign_key="step.id", index=True)
    done_tenths: int = Field(sa_type=Whole)
    quantity_tenths: int = Field(sa_type=Whole)
    pass_words: str = ""
    next_number: int | None = Field(default=None, sa_type=Whole)
    whole_number: int | None = Field(default=None, sa_type=Whole)
    from_end: str = ""
    work_direction: str = ""
    side_worked: str = ""
    loop_direction: str = ""
    hoop: bool = False
    thread: str = ""
    needle: str = ""
    bundle_threads: int | None = Field(default=None, sa_type=Whole)
    catch_threads: int | None = Field(default=None, sa_type=Whole)


class HandoverMaterial(SQLModel, table=True):
    """Something that travels with the piece, and how much of it: thread with its metres left, hoop, pattern, cloth."""

    __tablename__ = "handover_material"
    __table_args__ = (said("what"),)

    id: int | None = Field(default=None, primary_key=True)
    handover_id: int = Field(foreign_key="handover.id", index=True)
    what: str
    amount: str = ""


class BrokenSharp(SQLModel, table=True):
    """A needle or pin that broke, or was lost, at a garment. Until all of it is found the garment is not finished."""

    __tablename__ = "broken_sharp"
    __table_args__ = (
        one_of("kind", SHARP_THINGS),
        CheckConstraint("(found_at IS NULL) = (found_by IS NULL)", name="found_by_somebody"),
        Index(None, "garment_id", "id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    panel_id: int | None = Field(default=None, foreign_key="panel.id", index=True)
    kind: str
    told_by: int = Field(foreign_key="account.id", index=True)
    told_at: datetime = Field(sa_type=Instant)
    note: str = Field(default="", sa_type=Text)
    found_by: int | None = Field(default=None, foreign_key="account.id", index=True)
    found_at: datetime | None = Field(default=None, sa_type=Instant)
    found_note: str = Field(default="", sa_type=Text)
