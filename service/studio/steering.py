"""Steering a band mid-row: the bundles to come take the threads that are left, and the section keeps the change."""

from dataclasses import dataclass
from datetime import datetime
from typing import cast

from sqlmodel import col, select

from service.errors import Conflict, Unreadable
from service.reckoning.band_kinds import BAND_KINDS, BUNDLES_GATHERED, BandKind
from service.reckoning.gates import KNOTS
from service.reckoning.steer import (
    MirrorRow,
    MirrorSteered,
    SteerAsk,
    Steered,
    SteerWay,
    in_words,
    opposite,
    steer,
)
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Section, Step
from service.studio.log import countable_step
from service.studio.sign_in import Person
from service.studio.standing import check_open

STEERED = "steered"
MM_PER_CM = 10
TENTHS = 10
BUNDLES_MADE = "The bundles of this row are made already: this pass ties the same ones again."
NO_BUNDLES = "Only a row of bundles that is being knotted can be steered."


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen at the table: the bundle reached, and what is left to the stop line in threads or in mm."""

    reached: int
    threads_left: int | None
    mm_left: float | None = None
    since: int = 0
    way: SteerWay = "at once"
    mirrors_too: bool = False


@dataclass(frozen=True, slots=True)
class Mirror:
    """A section that mirrors the steered one, and what becomes of it."""

    section: Section
    steered: MirrorSteered


def steering(db: Reading | Writing, step: Step, seen: Seen) -> tuple[SteerAsk, Steered]:
    """What is to be done to make the row right; nothing is kept. Raises Wrong at the field of what cannot be."""
    ask = _ask(row_of(db, step), seen)
    return ask, steer(ask)


def steer_section(db: Writing, person: Person, step_id: int, seen: Seen, at: datetime) -> Steered:
    """Steer the row and keep it, with its mirrors where that is wished: an event says of each what was changed."""
    step = countable_step(db, person, step_id)
    check_open(db.get_one(Garment, step.garment_id))
    section = row_of(db, step)
    ask, steered = steering(db, step, seen)
    if steered.waits:
        raise Unreadable({"threads_left": " ".join(finding.text for finding in steered.findings if finding.waits)})
    if not steered.adrift:
        raise Conflict("The row is right as it is, so nothing is changed.")
    reason = in_words(ask, steered)
    mirrors = [each for each in mirrors_at(db, section, ask, steered) if each.steered.why_not is None]
    _keep(db, person, section, steered.sizes, reason, at)
    for mirror in mirrors if seen.mirrors_too else ():
        _keep(db, person, mirror.section, mirror.steered.sizes, f"As {section.name}, which it mirrors. {reason}", at)
    db.flush()
    return steered


def mirrors_at(db: Reading | Writing, section: Section, ask: SteerAsk, steered: Steered) -> list[Mirror]:
    """The sections that mirror this one, each with what would become of it; none while the row is not steered."""
    if steered.waits or not steered.adrift:
        return []
    first = section.mirror_of or section.key
    rows = db.exec(
        select(Section)
        .where(Section.garment_id == section.garment_id, (Section.key == first) | (Section.mirror_of == first))
        .where(col(Section.bundles) > 0, Section.id != section.id)
        .order_by(col(Section.position))
    ).all()
    return [Mirror(row, opposite(ask, steered, _mirror_row(db, section, row))) for row in rows]


def _mirror_row(db: Reading | Writing, section: Section, row: Section) -> MirrorRow:
    steps = select(Step.done_tenths).where(Step.section_id == row.id, col(Step.operation).in_(KNOTS))
    starts_alike = (section.work_direction == row.work_direction) == (section.side_worked == row.side_worked)
    return MirrorRow(
        name=row.name,
        sizes=_sizes(row),
        tied=min(max(db.exec(steps), default=0) // TENTHS, row.bundles or 0),
        turned=starts_alike if section.direction == "across" else not starts_alike,
    )


def _keep(db: Writing, person: Person, section: Section, sizes: tuple[int, ...], reason: str, at: datetime) -> None:
    """The sizes of a section's bundles, and an event that says what was changed."""
    planned = f"{section.bundle_threads} threads in each of {section.bundles} bundles"
    before = section.bundle_sizes or planned
    section.bundle_sizes = "" if set(sizes) == {section.bundle_threads} else _written(sizes)
    db.add(section)
    assert section.id is not None
    db.add(
        Event(
            at=at,
            account_id=person.id,
            garment_id=section.garment_id,
            action=STEERED,
            object_kind="section",
            object_id=section.id,
            reason=reason,
            before=before,
            after=section.bundle_sizes or planned,
        )
    )


def row_of(db: Reading | Writing, step: Step) -> Section:
    """The section whose bundles this step is making; refused when it makes none, or makes no more."""
    section = None if step.section_id is None else db.get_one(Section, step.section_id)
    if section is None or section.kind not in BAND_KINDS or step.operation not in KNOTS or not section.bundles:
        raise Conflict(NO_BUNDLES)
    if step.operation in BUNDLES_GATHERED or step.done_tenths >= section.bundles * 10:
        raise Conflict(BUNDLES_MADE)
    return section


def planned_left(section: Section, reached: int) -> int:
    """The threads that the bundles after that one would take as planned."""
    return sum(_sizes(section)[reached:])


def _sizes(section: Section) -> tuple[int, ...]:
    sizes = tuple(int(size) for size in section.bundle_sizes.split())
    return sizes or (section.bundle_threads or 0,) * (section.bundles or 0)


def _ask(section: Section, seen: Seen) -> SteerAsk:
    assert section.bundle_threads is not None
    return SteerAsk(
        kind=cast("BandKind", section.kind),
        sizes=_sizes(section),
        bundle_threads=section.bundle_threads,
        reached=seen.reached,
        threads_left=_threads_left(section, seen),
        since=seen.since,
        way=seen.way,
    )


def _threads_left(section: Section, seen: Seen) -> int:
    if seen.threads_left is not None:
        return seen.threads_left
    if seen.mm_left is None or section.standing_per_cm is None:
        raise Unreadable({"threads_left": "Enter the threads left to the stop line, or how far it is."})
    return round(seen.mm_left * section.standing_per_cm / MM_PER_CM)


def _written(sizes: tuple[int, ...]) -> str:
    return " ".join(str(size) for size in sizes)
