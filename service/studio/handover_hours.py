"""The hours left of what is handed over, at the pace of whoever takes it."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from service.reckoning.hours import Stretch
from service.reckoning.hours_left import HoursLeft, hours_left
from service.records.db import Reading, Writing
from service.records.queries.rates import work_left
from service.records.tables import Garment
from service.studio.rates import Learning, lines_together, whose

ALL_OF_IT = 0


@dataclass(frozen=True, slots=True)
class AtHerPace:
    """Hours left, of all of it and of each section by its number; the shelf's are anybody's."""

    whole: HoursLeft
    sections: dict[int, HoursLeft]


def hours_at_pace(
    db: Reading | Writing, learning: Learning, garment: Garment, panel_ids: Collection[int], stitcher_id: int | None
) -> AtHerPace:
    """The hours left of these panels, and of the joined garment's own work once it is joined, in these hands."""
    assert garment.id is not None
    joined = garment.joined_at is not None
    rows = [
        row for row in work_left(db, [garment.id]) if (joined if row.owner == "garment" else row.panel_id in panel_ids)
    ]
    holder = "" if stitcher_id is None else whose(stitcher_id)
    groups: dict[int, list[Any]] = {ALL_OF_IT: rows}
    for row in rows:
        if row.section_id is not None:
            groups.setdefault(row.section_id, []).append(row)
    work = {
        number: [Stretch(f"{garment.id} {holder}", lines_together(those), holder, str(garment.id))] if those else []
        for number, those in groups.items()
    }
    found = hours_left(learning.newest(db).drawn, work, learning.kappa)
    return AtHerPace(found.pop(ALL_OF_IT), found)
