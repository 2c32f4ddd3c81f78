"""The finishing list of a garment: what must be seen to before it is called finished, by what it has."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlmodel import col

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.queries.standing import is_seen_by
from service.records.tables import Account, Event, FinishingCheck, Garment, Photo, Section, Step, Studio
from service.studio import standing
from service.studio.nothing_open import sharps_open
from service.studio.sign_in import Person

WORDS = {
    "needles": "Needles and pins are counted in, those of the last sitting too.",
    "fragments": "Every piece of a broken needle or pin is found and taped to its record.",
    "marks": "Marking, starch and finishing are washed out.",
    "pressed": "It is pressed, drawn thread work from the wrong side.",
    "closures": "Every button, loop and fastening was tugged hard, and held.",
    "loose ends": "Loose ends are fastened off and trimmed, inside sleeves and cuffs too.",
    "measured": "It is measured against the size it was promised in.",
    "photos": "It is photographed, front and back, not on the child.",
}
SHORTLY = {
    "needles": "needles and pins counted in",
    "fragments": "every piece of a broken needle or pin found",
    "marks": "marking and starch washed out",
    "pressed": "pressed from the wrong side",
    "closures": "buttons and loops tugged",
    "loose ends": "loose ends fastened off",
    "measured": "measured against its size",
    "photos": "photographed front and back",
}
"""The same, in a row of them."""
OVERRULED = "called finished without its whole list"


@dataclass(frozen=True, slots=True)
class Check:
    """One thing on the list: whether it is seen to, and who said so when; `note` is what was measured or found."""

    what: str
    words: str
    done: bool
    note: str = ""
    who: str = ""
    at: datetime | None = None


def wanted(sections: Sequence[Section], steps: Sequence[Step]) -> tuple[str, ...]:
    """The words of what a garment's list holds: closures only where it has any, marks only where any were made."""
    without = set()
    if all(section.kind != "closure" for section in sections):
        without.add("closures")
    if all(step.operation not in {"mark", "trace", "retrace"} for step in steps):
        without.add("marks")
    return tuple(word for word in WORDS if word not in without)


def checks_of(
    db: Reading | Writing, garment_id: int, sections: Sequence[Section], steps: Sequence[Step]
) -> list[Check]:
    """The list as it stands."""
    newest = {
        row.what: row
        for row in db.execute(
            select(*_COLUMNS)
            .outerjoin(Account, col(FinishingCheck.account_id) == Account.id)
            .where(col(FinishingCheck.garment_id) == garment_id)
            .order_by(col(FinishingCheck.id))
        )
    }
    return [
        Check(what, WORDS[what], row.done, row.note, row.name or "", row.at)
        if (row := newest.get(what)) is not None
        else Check(what, WORDS[what], done=False)
        for what in wanted(sections, steps)
    ]


def see_to(db: Writing, person: Person, garment_id: int, check: Check, at: datetime) -> None:
    """Write down that one thing was seen to, or was found undone again; by the owner or whoever holds the garment."""
    if db.get(Garment, garment_id) is None or not (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)):
        raise NotFound("There is no such garment among those you may see.")
    garment = standing.locked_garment(db, garment_id)
    if garment.state not in {"planned", "in work"}:
        raise Conflict(f"This garment is {garment.state}; its list is closed.")
    if check.what not in WORDS:
        raise NotFound("That is not on the finishing list.")
    if check.what == "needles" and check.done and (out := sharps_open(db, garment_id)):
        raise Unreadable({"note": f"{' '.join(out)} Count them in first, on the page of needles and pins."})
    if check.what == "measured" and check.done and not check.note.strip():
        raise Unreadable({"note": "Say what was measured, and how it came out."})
    if check.what == "photos" and check.done and not _is_photographed(db, garment_id) and not check.note.strip():
        raise Unreadable({"note": "No photo is kept with it yet: add one, or say why there is none."})
    db.add(
        FinishingCheck(
            garment_id=garment_id, what=check.what, done=check.done, note=check.note, account_id=person.id, at=at
        )
    )
    db.flush()


def call_finished(db: Writing, owner: Person, garment_id: int, reason: str, at: datetime) -> None:
    """Call a garment finished when its list is seen to; the owner may pass over the list with a reason, kept."""
    if not owner.is_owner:
        raise NotAllowed("Only the owner calls a garment finished.")
    garment = standing.locked_garment(db, garment_id)
    sections = db.execute(select(Section).where(col(Section.garment_id) == garment_id)).scalars().all()
    steps = db.execute(select(Step).where(col(Step.garment_id) == garment_id)).scalars().all()
    undone = [check.what for check in checks_of(db, garment_id, sections, steps) if not check.done]
    if undone and not reason.strip():
        missing = "; ".join(SHORTLY[word] for word in undone)
        raise Unreadable({"reason": f"Not seen to yet: {missing}. See to it, or say why it may go without."})
    standing.finish(db, garment_id, owner.id, at)
    if undone:
        db.add(
            Event(
                at=at,
                account_id=owner.id,
                garment_id=garment.id,
                action=OVERRULED,
                object_kind="garment",
                object_id=garment_id,
                reason=reason,
                before=", ".join(undone),
            )
        )
        db.flush()


def deliver_on(db: Writing, owner: Person, garment_id: int, told: tuple[date, str], at: datetime) -> None:
    """Write down on which day a finished garment was delivered, and by whom."""
    day, by = told
    zone = ZoneInfo(db.execute(select(col(Studio.time_zone))).scalar_one())
    garment = standing.garment_with(db, garment_id)
    if day > at.astimezone(zone).date():
        raise Unreadable({"day": "That day is still to come. Write the delivery down when it is done."})
    if garment.finished_at is not None and day < garment.finished_at.astimezone(zone).date():
        raise Unreadable({"day": "That is before the garment was finished."})
    is_today = day == at.astimezone(zone).date()
    moment = at if is_today else max(datetime.combine(day, time(12), zone), garment.finished_at or at)
    standing.deliver(db, garment_id, owner.id, moment, by=by)


def _is_photographed(db: Reading | Writing, garment_id: int) -> bool:
    kept = select(col(Photo.id)).where(col(Photo.garment_id) == garment_id, col(Photo.taken_out_at).is_(None))
    return db.execute(kept.limit(1)).first() is not None


_COLUMNS = (
    col(FinishingCheck.what),
    col(FinishingCheck.done),
    col(FinishingCheck.note),
    col(FinishingCheck.at),
    col(Account.name),
)
