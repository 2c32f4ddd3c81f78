"""Cloth: what is written of it, how its threads are counted, and when a plan on older counts has moved."""

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import col, select

from service.errors import NotAllowed, NotFound, Unreadable
from service.reckoning import counts, yarn
from service.reckoning.asked import Wrong
from service.reckoning.counts import Count
from service.reckoning.designs import ClothCounts
from service.reckoning.findings import Finding
from service.reckoning.shrink import recount_findings
from service.records.db import Reading, Writing
from service.records.tables import Cloth, ClothReading, ClothUse, Event
from service.records.tables.cloth import SYSTEMS
from service.studio.sign_in import Person


@dataclass(frozen=True, slots=True)
class CountsNow:
    """A cloth's counts as read so far, warp and weft apart; None where nothing has been read yet."""

    warp: Count | None
    weft: Count | None


@dataclass(frozen=True, slots=True)
class ClothFacts:
    """What is written down of a cloth; shrinkage in hundredths of a per cent, None where it is not known."""

    name: str
    fibre: str
    width_um: int
    weight_mg_per_m2: int | None = None
    shrink_warp_bp: int | None = None
    shrink_weft_bp: int | None = None
    price_minor_per_m: int | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class PlaceRead:
    """Threads of one system counted at one place. `field` is where it was typed, for a refusal to name."""

    system: str
    threads: int
    over_um: int
    place: str = ""
    field: str = ""


@dataclass(frozen=True, slots=True)
class Counting:
    """One counting of a cloth. `instead` sets the earlier readings of the same systems aside, for a reason."""

    places: Sequence[PlaceRead]
    instead: bool = False
    reason: str = ""


def cloth_with(db: Reading | Writing, cloth_id: int) -> Cloth:
    """The cloth of that number, or a refusal."""
    cloth = db.get(Cloth, cloth_id)
    if cloth is None:
        raise NotFound("There is no such cloth.")
    return cloth


def shrink_percents(cloth: Cloth) -> tuple[float, float]:
    """What to cut for along the warp and the weft, in per cent: nothing where it is not known."""
    return cloth.shrink_warp_bp / 100, cloth.shrink_weft_bp / 100


def shrinkage_known(cloth: Cloth) -> tuple[int | None, int | None]:
    """What the cloth shrinks along the warp and the weft, in hundredths of a per cent; None where it is not known."""
    warp, weft = cloth.shrink_warp_bp, cloth.shrink_weft_bp
    return warp if warp or cloth.keeps_its_warp else None, weft if weft or cloth.keeps_its_weft else None


def shrink_not_known(cloth: Cloth) -> str:
    """A sentence that says for which way nothing is known and nothing added; empty where both are known."""
    warp, weft = (known is None for known in shrinkage_known(cloth))
    if warp and weft:
        return "What the cloth shrinks is not known, and nothing is added for it: wash a swatch before you cut."
    if warp or weft:
        system = "warp" if warp else "weft"
        return (
            f"What the cloth shrinks along the {system} is not known, and nothing is added for it: wash a swatch "
            "before you cut."
        )
    return ""


def add_cloth(db: Writing, person: Person, facts: ClothFacts, on_hand_um: int, at: datetime) -> Cloth:
    """Write a new cloth down, with what lies on the shelf of it."""
    cloth = Cloth(name=facts.name, fibre=facts.fibre, width_um=facts.width_um, created_at=at)
    _write(cloth, facts)
    cloth.on_hand_um = on_hand_um
    db.add(cloth)
    db.flush()
    if on_hand_um:
        assert cloth.id is not None
        first = ClothUse(
            cloth_id=cloth.id, kind="bought", change_um=on_hand_um, reason="when it was first written down", at=at
        )
        first.account_id = person.id
        db.add(first)
    return cloth


def facts_of(cloth: Cloth) -> ClothFacts:
    """What is written of a cloth now."""
    return ClothFacts(
        name=cloth.name,
        fibre=cloth.fibre,
        width_um=cloth.width_um,
        weight_mg_per_m2=cloth.weight_mg_per_m2,
        shrink_warp_bp=shrinkage_known(cloth)[0],
        shrink_weft_bp=shrinkage_known(cloth)[1],
        price_minor_per_m=cloth.price_minor_per_m,
        notes=cloth.notes,
    )


def change_cloth(db: Writing, person: Person, cloth_id: int, facts: ClothFacts, at: datetime) -> None:
    """Correct what is written of a cloth; what it said before is kept."""
    cloth = cloth_with(db, cloth_id)
    before = facts_of(cloth)
    changed = [name for name in ClothFacts.__slots__ if getattr(before, name) != getattr(facts, name)]
    if not changed:
        return
    _write(cloth, facts)
    db.add(cloth)
    event = Event(at=at, account_id=person.id, action="cloth corrected", object_kind="cloth", object_id=cloth_id)
    event.before = json.dumps({name: getattr(before, name) for name in changed})
    event.after = json.dumps({name: getattr(facts, name) for name in changed})
    db.add(event)


def put_cloth_away(db: Writing, cloth_id: int, *, away: bool) -> None:
    """Take a cloth off the shelf's list, or put it back; its readings and uses stay."""
    cloth = cloth_with(db, cloth_id)
    cloth.put_away = away
    db.add(cloth)


def current_counts(db: Reading | Writing, cloth_id: int) -> CountsNow:
    """The counts of a cloth from all its readings that are not set aside."""
    cloth_with(db, cloth_id)
    return counts_from(_readings_that_count(db, cloth_id))


def counts_of_cloths(db: Reading | Writing, cloth_ids: Collection[int]) -> dict[int, CountsNow]:
    """The same of several cloths at once, by number."""
    counting = col(ClothReading.set_aside).is_(False), col(ClothReading.cloth_id).in_(cloth_ids)
    read: dict[int, list[ClothReading]] = {number: [] for number in cloth_ids}
    for row in db.exec(select(ClothReading).where(*counting).order_by(col(ClothReading.id))):
        read[row.cloth_id].append(row)
    return {number: counts_from(rows) for number, rows in read.items()}


def counts_from(rows: Iterable[ClothReading]) -> CountsNow:
    """The counts that these readings of one cloth come to; those set aside do not count."""
    kept = [row for row in rows if not row.set_aside]
    read = {system: as_read(kept, system) for system in SYSTEMS}
    return CountsNow(*(counts.count_of(read[system]) if read[system] else None for system in SYSTEMS))


def as_read(rows: Iterable[ClothReading], system: str) -> list[counts.Reading]:
    """The readings of one system as the reckoning takes them."""
    return [counts.Reading(row.threads, row.over_um / 1000) for row in rows if row.system == system]


def counts_have_moved(planned: ClothCounts, now: CountsNow) -> Finding | None:
    """A finding when a garment planned on those counts would be off by a thread in 10 cm on the cloth as counted now.

    >>> now = CountsNow(counts.count_of([counts.Reading(103, 50)]), counts.count_of([counts.Reading(97, 50)]))
    >>> print(counts_have_moved(ClothCounts(20, 19), now).text)
    Planned on 20 × 19 threads per cm (warp × weft); the cloth now counts 20.6 × 19.4 per cm. Carry the counts over \
again before the next line is marked.
    """
    warp = now.warp.threads_per_cm if now.warp else planned.warp_per_cm
    weft = now.weft.threads_per_cm if now.weft else planned.weft_per_cm
    if not recount_findings(planned, ClothCounts(warp, weft)):
        return None
    text = (
        f"Planned on {planned.warp_per_cm:.4g} × {planned.weft_per_cm:.4g} threads per cm (warp × weft); "
        f"the cloth now counts {warp:.4g} × {weft:.4g} per cm. Carry the counts over again before the next line is "
        "marked."
    )
    return Finding("counts_moved", text)


def findings_of_counting(rows: Sequence[ClothReading]) -> tuple[Finding, ...]:
    """What a careful counter would still do, warp and weft apart; nothing of a system not counted yet."""
    found: list[Finding] = []
    for system in SYSTEMS:
        if read := as_read([row for row in rows if not row.set_aside], system):
            found += [replace(one, text=f"{system.title()}: {one.text}") for one in counts.findings_of(read)]
    return tuple(found)


def findings_about(cloth: Cloth, now: CountsNow) -> tuple[Finding, ...]:
    """What is noticed about the cloth itself: whether its counts lie far apart, whether it is very light."""
    found: list[Finding] = []
    if now.warp and now.weft:
        found += yarn.square_findings(now.warp.threads_per_cm, now.weft.threads_per_cm)
    if cloth.weight_mg_per_m2:
        found += yarn.burning_findings(cloth.weight_mg_per_m2 / 1000, cloth.fibre)
    return tuple(found)


def add_readings(db: Writing, person: Person, cloth_id: int, counting: Counting, at: datetime) -> None:
    """Write down what was counted at one or more places. Only the owner may let it count instead of what was read."""
    cloth_with(db, cloth_id)
    _check(counting)
    if counting.instead and not person.is_owner:
        raise NotAllowed("Only the owner sets all earlier readings aside. Add yours; she sees both.")
    before = current_counts(db, cloth_id)
    systems = {place.system for place in counting.places}
    earlier = [row for row in _readings_that_count(db, cloth_id) if row.system in systems]
    if counting.instead:
        for row in earlier:
            row.set_aside = True
            db.add(row)
    for place in counting.places:
        row = ClothReading(
            cloth_id=cloth_id, system=place.system, threads=place.threads, over_um=place.over_um, read_at=at
        )
        row.place, row.account_id = place.place, person.id
        db.add(row)
    db.flush()
    if counting.instead and earlier:
        _keep_counts(db, person, cloth_id, ("counted again", counting.reason, before), at)


def set_reading_aside(db: Writing, person: Person, reading_id: int, *, aside: bool, at: datetime) -> int:
    """Let a reading count no longer, or count again, and give its cloth: the owner any, a stitcher her own."""
    row = db.get(ClothReading, reading_id)
    if row is None:
        raise NotFound("There is no such reading.")
    if not person.is_owner and row.account_id != person.id:
        raise NotAllowed("Only the owner, or whoever counted it, sets a reading aside.")
    if row.set_aside != aside:
        before = current_counts(db, row.cloth_id)
        row.set_aside = aside
        db.add(row)
        db.flush()
        act = "reading set aside" if aside else "reading counts again"
        _keep_counts(db, person, row.cloth_id, (act, "", before), at)
    return row.cloth_id


def _write(cloth: Cloth, facts: ClothFacts) -> None:
    for name in ClothFacts.__slots__:
        setattr(cloth, name, getattr(facts, name) or 0 if name.startswith("shrink_") else getattr(facts, name))
    cloth.keeps_its_warp, cloth.keeps_its_weft = facts.shrink_warp_bp == 0, facts.shrink_weft_bp == 0


def _readings_that_count(db: Reading | Writing, cloth_id: int) -> Sequence[ClothReading]:
    return db.exec(
        select(ClothReading)
        .where(ClothReading.cloth_id == cloth_id, col(ClothReading.set_aside).is_(False))
        .order_by(col(ClothReading.id))
    ).all()


def _check(counting: Counting) -> None:
    if not counting.places:
        raise Unreadable({"": "Enter the threads you counted at one place at least."})
    if counting.instead and not counting.reason:
        raise Unreadable({"reason": "Say why the earlier readings no longer count, for example: the cloth was washed."})
    faults = {}
    for place in counting.places:
        try:
            counts.count_of([counts.Reading(place.threads, place.over_um / 1000)])
        except Wrong as wrong:
            faults[place.field] = f"{place.threads} threads over {place.over_um / 1000:g} mm {_cannot_be(wrong)}"
    if faults:
        raise Unreadable(faults)


def _cannot_be(wrong: Wrong) -> str:
    return f"cannot be cloth: the count {wrong.sentence} threads per cm. Look at the length it was counted over."


def _keep_counts(db: Writing, person: Person, cloth_id: int, act: tuple[str, str, CountsNow], at: datetime) -> None:
    action, reason, before = act
    event = Event(at=at, account_id=person.id, action=action, object_kind="cloth", object_id=cloth_id, reason=reason)
    event.before, event.after = _as_text(before), _as_text(current_counts(db, cloth_id))
    db.add(event)


def _as_text(now: CountsNow) -> str:
    return json.dumps({system: getattr(now, system) and getattr(now, system).threads_per_cm for system in SYSTEMS})
