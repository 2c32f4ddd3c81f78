"""Recounting a band at the table: 391 standing threads, not 396. The section, its mirror and their steps follow."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.asked import whole
from service.reckoning.bands import LEFT_OVER_WAYS, LeftOverWay
from service.reckoning.counts import MOST_THREADS
from service.reckoning.design_text import design_on_record
from service.reckoning.designs import ClothCounts, SectionDesign
from service.reckoning.guesses import Guesses
from service.reckoning.mirrors import sections_drawn_up
from service.reckoning.plans import SectionChoice
from service.reckoning.recount import Requantified, requantified
from service.reckoning.section_findings import is_answered
from service.reckoning.section_work import SectionWork, felt_count, replan_section
from service.reckoning.steps import StepPlan
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Section, Step
from service.studio.guesses import guesses_of
from service.studio.hands import is_in_hands
from service.studio.making import fill_figures, guessed_ms
from service.studio.sign_in import Person
from service.studio.standing import check_open, locked_garment, resummarise

RECOUNTED = "recounted"


@dataclass(frozen=True, slots=True)
class Recount:
    """What was counted at the table, and why.

    What is left out stays as it was. `left_over` is the way taken with odd threads; without it the section's own,
    then the design's. `accepted` lets an odd number of bundles be worked as it comes out.
    """

    reason: str
    standing_threads: int | None = None
    withdrawn_threads: int | None = None
    left_over: LeftOverWay | None = None
    accepted: bool = False


@dataclass(frozen=True, slots=True)
class _Band:
    """A section of the garment with its drawing, its steps, and what the recount makes of it."""

    row: Section
    drawn: SectionDesign
    steps: tuple[Step, ...]
    work: SectionWork
    guesses: Guesses

    @property
    def is_finished(self) -> bool:
        return all(step.done_tenths >= step.quantity_tenths for step in self.steps)

    @property
    def planned(self) -> dict[str, StepPlan]:
        return {step.operation: step for step in self.work.steps}

    def requantified(self, step: Step) -> Requantified:
        planned = self.planned.get(step.operation)
        return requantified(
            step.operation,
            quantity=step.quantity_tenths / 10,
            done=step.done_tenths / 10,
            planned=0 if planned is None else planned.quantity,
        )


def recount_section(db: Writing, person: Person, section_id: int, recount: Recount, at: datetime) -> Section:
    """Write down what was counted on the cloth, and reckon the band, its mirror and their steps afresh.

    Mirrors that were counted alike take the new count too; one that is finished stays as it was made. Refused
    while more is done than the new count comes to and it can be undone; what cannot is left as it was done.
    """
    section = _countable(db, person, section_id)
    garment = db.get_one(Garment, section.garment_id)
    _check(section, recount)
    check_open(garment)
    first, *mirrors = _bands(db, garment, section, recount)
    _check_not_cut_out(db, first)
    _check_answered(first, recount)
    again = [first, *(band for band in mirrors if not band.is_finished)]
    _check_not_too_far(again)
    for band in again:
        _apply(db, band, recount, person, at)
    assert garment.id is not None
    resummarise(db, garment.id)
    return section


def recounted(db: Reading | Writing, section_id: int, recount: Recount) -> SectionWork:
    """What a recount would make of a section, with the ways open to odd threads; nothing is kept."""
    section = db.get(Section, section_id)
    if section is None:
        raise NotFound("There is no such section.")
    _check_counts(section, recount)
    return _replanned(section, _drawn(db.get_one(Garment, section.garment_id), section), recount)


def _countable(db: Writing, person: Person, section_id: int) -> Section:
    section = db.get(Section, section_id)
    if section is None:
        raise NotFound("There is no such section.")
    garment = locked_garment(db, section.garment_id)
    db.refresh(section)
    if not person.is_owner and not is_in_hands(db, person, garment, section.panel_id):
        raise NotAllowed(
            "This is not in your hands, so it cannot be recounted by you. Ask the owner to give it to you."
        )
    return section


def _check(section: Section, recount: Recount) -> None:
    if not recount.reason.strip():
        raise Unreadable({"reason": "Say why it was counted again, in a few words."})
    if recount.left_over is not None and recount.left_over not in LEFT_OVER_WAYS:
        raise Unreadable({"left_over": f"Choose one of {', '.join(LEFT_OVER_WAYS)}."})
    _check_counts(section, recount)


def _check_counts(section: Section, recount: Recount) -> None:
    if section.standing_threads is None or section.withdrawn_threads is None:
        raise Conflict("Only the threads of a band can be counted again.")
    if recount.standing_threads is None and recount.withdrawn_threads is None:
        raise Unreadable({"standing_threads": "Enter how many threads were counted."})
    for field in ("standing_threads", "withdrawn_threads"):
        if (threads := getattr(recount, field)) is not None:
            whole(field, threads, 1, MOST_THREADS)


def _bands(db: Writing, garment: Garment, section: Section, recount: Recount) -> list[_Band]:
    """The section recounted, and the mirrors that were counted as it was."""
    first = section.mirror_of or section.key
    group = db.exec(
        select(Section)
        .where(Section.garment_id == garment.id, (Section.key == first) | (Section.mirror_of == first))
        .order_by(col(Section.position))
        .execution_options(populate_existing=True)
    ).all()
    alike = [row for row in group if row.id != section.id and _counted(row) == _counted(section)]
    drawn = sections_drawn_up(design_on_record(garment.document))
    return [_band(db, row, drawn[row.key], recount) for row in (section, *alike)]


def _counted(row: Section) -> tuple[float | int | None, ...]:
    return row.standing_threads, row.withdrawn_threads, row.standing_per_cm, row.withdrawn_per_cm


def _band(db: Writing, row: Section, drawn: SectionDesign, recount: Recount) -> _Band:
    steps = db.exec(select(Step).where(Step.section_id == row.id).order_by(col(Step.position)))
    return _Band(row, drawn, tuple(steps), _replanned(row, drawn, recount), guesses_of(db))


def _drawn(garment: Garment, section: Section) -> SectionDesign:
    return sections_drawn_up(design_on_record(garment.document))[section.key]


def _replanned(row: Section, drawn: SectionDesign, recount: Recount) -> SectionWork:
    assert row.standing_threads is not None
    way = next((way for way in LEFT_OVER_WAYS if way == (recount.left_over or row.left_over_way)), None)
    return replan_section(
        drawn,
        _counts(row),
        withdraw_threads=recount.withdrawn_threads or row.withdrawn_threads,
        standing_threads=recount.standing_threads or row.standing_threads,
        bundle_threads=row.bundle_threads,
        way=way,
    )


def _counts(row: Section) -> ClothCounts:
    assert row.standing_per_cm is not None
    assert row.withdrawn_per_cm is not None
    across = row.direction == "across"
    return ClothCounts(
        warp_per_cm=row.standing_per_cm if across else row.withdrawn_per_cm,
        weft_per_cm=row.withdrawn_per_cm if across else row.standing_per_cm,
    )


def _check_not_cut_out(db: Writing, band: _Band) -> None:
    if band.row.owner == "garment":
        return
    cut_out = db.exec(
        select(Step).where(Step.panel_id == band.row.panel_id, Step.operation == "cut_out", col(Step.done_tenths) > 0)
    ).first()
    if cut_out is not None:
        raise Conflict("This panel is cut out, so its bands stay as they were made.")


def _check_answered(band: _Band, recount: Recount) -> None:
    choice = SectionChoice(accepted=recount.accepted or band.row.accepted)
    waiting = [finding.text for finding in band.work.findings if not is_answered(finding, choice)]
    if waiting:
        raise Unreadable({"left_over": " ".join(waiting)})


def _check_not_too_far(bands: Sequence[_Band]) -> None:
    said = []
    for band in bands:
        for step in band.steps:
            found = band.requantified(step)
            if found.too_far:
                said.append(
                    f"{band.row.name}: {step.done_tenths / 10:g} {step.unit}s are done, the new count comes to "
                    f"{found.quantity:g}. Take back or unpick {found.too_far:g} first."
                )
    if said:
        raise Conflict(" ".join(said))


def _apply(db: Writing, band: _Band, recount: Recount, person: Person, at: datetime) -> None:
    before = _in_words(band.row)
    fill_figures(band.row, band.work.figures)
    band.row.left_over_way = band.work.left_over
    band.row.accepted = band.row.accepted or recount.accepted
    db.add(band.row)
    for step in band.steps:
        step.quantity_tenths = round(band.requantified(step).quantity * 10)
        _write_time(band, step)
        db.add(step)
    _add_missing(db, band)
    assert band.row.id is not None
    db.add(
        Event(
            at=at,
            account_id=person.id,
            garment_id=band.row.garment_id,
            action=RECOUNTED,
            object_kind="section",
            object_id=band.row.id,
            reason=recount.reason.strip(),
            before=before,
            after=_in_words(band.row),
        )
    )


def _write_time(band: _Band, step: Step) -> None:
    """A withdrawn thread is as long as the band now."""
    length_um = band.row.length_um if step.operation == "withdraw" else None
    fineness = felt_count(step.operation, band.drawn.direction, _counts(band.row))
    step.thread_length_um = length_um
    step.unit_ms = guessed_ms(step.operation, fineness, None if length_um is None else length_um / 1000, band.guesses)


def _add_missing(db: Writing, band: _Band) -> None:
    """Add the steps that the band had none of before (pairs to knot, once there are two bundles)."""
    known = {step.operation: step for step in band.steps}
    position = band.steps[0].position
    for planned in band.work.steps:
        if (step := known.get(planned.operation)) is None:
            position += 1
            step = _step(band, planned, position)
            _make_room(db, step)
            db.add(step)
            db.flush()
        position = step.position


def _step(band: _Band, planned: StepPlan, position: int) -> Step:
    step = Step(
        garment_id=band.row.garment_id,
        panel_id=band.row.panel_id,
        section_id=band.row.id,
        position=position,
        operation=planned.operation,
        unit=planned.unit,
        quantity_tenths=round(planned.quantity * 10),
        unit_ms=0,
        note=planned.note,
    )
    _write_time(band, step)
    return step


def _make_room(db: Writing, added: Step) -> None:
    later = select(Step).where(Step.garment_id == added.garment_id, col(Step.position) >= added.position)
    for step in db.exec(later):
        step.position += 1
        db.add(step)


def _in_words(row: Section) -> str:
    return f"{row.standing_threads} standing threads, {row.withdrawn_threads} withdrawn, {row.bundles} bundles"
