"""What was odd in the work on some sections, told from the records: counted again, unpicked, out of order."""

from collections.abc import Sequence

from sqlmodel import col, func, select

from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Section, Step, Tally
from service.studio.recount import RECOUNTED


def odd_of(db: Reading | Writing, garment: Garment, sections: Sequence[Section]) -> list[str]:
    """A sentence for each thing that whoever goes on should know of."""
    names = {section.id: section.name for section in sections}
    return [*_recounts(db, names), *_undone(db, garment, names)]


def _recounts(db: Reading | Writing, names: dict[int | None, str]) -> list[str]:
    found = select(Event.object_id, Event.before, Event.after, Event.reason).where(
        col(Event.object_kind) == "section", Event.action == RECOUNTED, col(Event.object_id).in_(list(names))
    )
    return [
        f"{names[number]} was counted again: {before} before, {after} now ({reason.rstrip('.')})."
        for number, before, after, reason in db.exec(found.order_by(col(Event.id)))
    ]


def _undone(db: Reading | Writing, garment: Garment, names: dict[int | None, str]) -> list[str]:
    found = (
        select(Step.section_id, Step.unit, func.sum(Tally.counted_tenths), func.max(Tally.reason))
        .join(Tally, col(Tally.step_id) == Step.id)
        .where(Tally.garment_id == garment.id, Tally.kind == "unpick", col(Step.section_id).in_(list(names)))
        .group_by(col(Step.section_id), col(Step.unit))
    )
    return [
        f"{names[number]}: {int(tenths) / 10:g} {unit}{'' if unit == 'cm' or tenths == 10 else 's'} were unpicked"
        f"{f' ({reason})' if reason else ''}."
        for number, unit, tenths, reason in db.exec(found)
    ]
