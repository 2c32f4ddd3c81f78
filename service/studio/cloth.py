"""Cloth: what is on the shelf, how its threads are counted, what came and what was cut."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import col, select

from service.errors import NotFound
from service.reckoning import counts
from service.reckoning.counts import Count
from service.reckoning.designs import ClothCounts
from service.reckoning.findings import Finding
from service.reckoning.shrink import recount_findings
from service.records.db import Reading, Writing
from service.records.tables import Cloth, ClothReading


@dataclass(frozen=True, slots=True)
class CountsNow:
    """A cloth's counts as read so far, warp and weft apart; None where nothing has been read yet."""

    warp: Count | None
    weft: Count | None


def cloth_with(db: Reading | Writing, cloth_id: int) -> Cloth:
    """The cloth of that number, or a refusal."""
    cloth = db.get(Cloth, cloth_id)
    if cloth is None:
        raise NotFound("There is no such cloth.")
    return cloth


def current_counts(db: Reading | Writing, cloth_id: int) -> CountsNow:
    """The counts of a cloth from all its readings that are not set aside."""
    cloth_with(db, cloth_id)
    rows = db.exec(
        select(ClothReading)
        .where(ClothReading.cloth_id == cloth_id, col(ClothReading.set_aside).is_(False))
        .order_by(col(ClothReading.id))
    ).all()
    return CountsNow(_count(rows, "warp"), _count(rows, "weft"))


def counts_have_moved(planned: ClothCounts, now: CountsNow) -> Finding | None:
    """A finding when a garment planned on those counts would be off by a thread in 10 cm on the cloth as counted now.

    >>> now = CountsNow(counts.count_of([counts.Reading(103, 50)]), counts.count_of([counts.Reading(97, 50)]))
    >>> print(counts_have_moved(ClothCounts(20, 19), now).text)
    Planned on 20 × 19 threads per cm (warp × weft); the cloth now counts 20.6 × 19.4. Carry the counts over again \
before the next line is marked.
    """
    warp = now.warp.threads_per_cm if now.warp else planned.warp_per_cm
    weft = now.weft.threads_per_cm if now.weft else planned.weft_per_cm
    if not recount_findings(planned, ClothCounts(warp, weft)):
        return None
    text = (
        f"Planned on {planned.warp_per_cm:.4g} × {planned.weft_per_cm:.4g} threads per cm (warp × weft); "
        f"the cloth now counts {warp:.4g} × {weft:.4g}. Carry the counts over again before the next line is marked."
    )
    return Finding("counts_moved", text)


def _count(rows: Iterable[ClothReading], system: str) -> Count | None:
    read = [counts.Reading(row.threads, row.over_um / 1000) for row in rows if row.system == system]
    return counts.count_of(read) if read else None
