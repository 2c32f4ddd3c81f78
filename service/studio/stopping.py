"""Where the sections of a piece stopped, read from the records: the step in hand, the next knot or thread."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import lru_cache

from sqlmodel import col, select

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.design_text import design_on_record
from service.reckoning.designs import SectionDesign, WorkDirection
from service.reckoning.gates import KNOTS
from service.reckoning.mirrors import sections_drawn_up
from service.reckoning.stopping import BandInHand, Stopped, stopped
from service.records.db import Reading, Writing
from service.records.tables import Garment, Handover, HandoverPlace, Section, Step

IN_ROWS = frozenset({*KNOTS, "clip", "withdraw"})


@dataclass(frozen=True, slots=True)
class SectionLeft:
    """A section with something left to do: all its steps in order, and the one in hand.

    `place` is where the step in hand stopped; `knots` the knot step to be worked next and `knot_place` where that one
    stands, both None where no knot is left.
    """

    section: Section
    steps: tuple[Step, ...]
    in_hand: Step
    place: Stopped | None
    knots: Step | None
    knot_place: Stopped | None

    @property
    def is_begun(self) -> bool:
        """Whether anything of it is done."""
        return any(step.done_tenths for step in self.steps)

    @property
    def left(self) -> tuple[Step, ...]:
        """Its steps that are not complete."""
        return tuple(step for step in self.steps if step.done_tenths < step.quantity_tenths)


def sections_left(db: Reading | Writing, garment: Garment, panel_ids: Collection[int]) -> list[SectionLeft]:
    """The sections with something left that belong to these panels, and to the garment once it is joined."""
    sections = select(Section).where(Section.garment_id == garment.id).order_by(col(Section.position))
    steps: dict[int | None, list[Step]] = {}
    for step in db.exec(select(Step).where(Step.garment_id == garment.id).order_by(col(Step.position))):
        steps.setdefault(step.section_id, []).append(step)
    joined = garment.joined_at is not None
    hers = (each for each in db.exec(sections) if (joined if each.owner == "garment" else each.panel_id in panel_ids))
    drawn = designs_of(garment.document)
    found = (_left(section, steps.get(section.id, []), drawn.get(section.key)) for section in hers)
    return [each for each in found if each is not None]


def to_be_written_down(found: Iterable[SectionLeft]) -> list[SectionLeft]:
    """Which places a handover keeps: the sections begun, or the first one when none is."""
    found = list(found)
    return [each for each in found if each.is_begun] or found[:1]


def place_row(left: SectionLeft, before: HandoverPlace | None = None) -> HandoverPlace:
    """The place as a handover keeps it; thread and needle as somebody wrote them down before, if anybody did."""
    section, step, place = left.section, left.in_hand, left.place
    assert section.id is not None
    assert step.id is not None
    row = before or HandoverPlace(
        handover_id=0, section_id=section.id, step_id=step.id, done_tenths=0, quantity_tenths=0, thread=section.thread
    )
    row.step_id, row.done_tenths, row.quantity_tenths = step.id, step.done_tenths, step.quantity_tenths
    row.pass_words, row.from_end = (place.row, place.from_end) if place else ("", "")
    row.next_number, row.whole_number = (place.next_number, place.whole_number) if place else (None, None)
    row.work_direction, row.loop_direction = section.work_direction, section.loop_direction
    row.side_worked, row.hoop = section.side_worked, section.hoop
    row.bundle_threads, row.catch_threads = section.bundle_threads, section.catch_threads
    return row


def write_places(db: Writing, handover: Handover, found: Iterable[SectionLeft]) -> None:
    """Keep where the sections are now; what was written of them by hand stays."""
    kept = {
        row.section_id: row for row in db.exec(select(HandoverPlace).where(HandoverPlace.handover_id == handover.id))
    }
    for left in to_be_written_down(found):
        row = place_row(left, kept.pop(left.section.id or 0, None))
        assert handover.id is not None
        row.handover_id = handover.id
        db.add(row)
    for row in kept.values():  # finished since
        db.delete(row)


def places_now(
    db: Reading | Writing, garment: Garment, handover: Handover, panel_ids: Collection[int]
) -> list[HandoverPlace]:
    """Where the sections of a handover stop: as they are now while it is offered, as they were once it was answered."""
    found = select(HandoverPlace).where(HandoverPlace.handover_id == handover.id).order_by(col(HandoverPlace.id))
    kept = list(db.exec(found))
    if handover.state != "offered":
        return kept
    said = {row.section_id: HandoverPlace(**row.model_dump()) for row in kept}
    left = to_be_written_down(sections_left(db, garment, panel_ids))
    return [place_row(each, said.get(each.section.id or 0)) for each in left]


@lru_cache(maxsize=64)
def designs_of(document: str) -> dict[str, SectionDesign]:
    """The sections as drawn up in a garment's own design, by key."""
    return sections_drawn_up(design_on_record(document))


def _left(section: Section, steps: list[Step], drawn: SectionDesign | None) -> SectionLeft | None:
    still = [step for step in steps if step.done_tenths < step.quantity_tenths]
    if not still:
        return None
    in_hand = next((step for step in still if step.done_tenths), still[0])
    knots = next((step for step in still if step.operation in KNOTS), None)
    band = band_in_hand(section, drawn)
    return SectionLeft(section, tuple(steps), in_hand, _stopped(band, in_hand), knots, _stopped(band, knots))


def band_in_hand(section: Section, drawn: SectionDesign | None) -> BandInHand | None:
    """The band as its order of work goes; None for what is no band."""
    if section.kind not in BAND_KINDS or not section.bundles:
        return None
    sizes = tuple(int(size) for size in section.bundle_sizes.split())
    rightwards: WorkDirection = "left to right"
    return BandInHand(
        section.kind,
        sizes or (section.bundle_threads or 1,) * section.bundles,
        section.withdrawn_threads or 0,
        section.stop_lines or 0,
        closed_round=drawn is not None and drawn.closed_round,
        pair_rows=1 if drawn is None else drawn.pair_rows,
        work_direction="right to left" if section.work_direction == "right to left" else rightwards,
    )


def _stopped(band: BandInHand | None, step: Step | None) -> Stopped | None:
    if band is None or step is None or step.operation not in IN_ROWS:
        return None
    try:
        return stopped(band, step.operation, step.done_tenths // 10)
    except Wrong:  # the cloth had other work than the band was drawn up for
        return None
