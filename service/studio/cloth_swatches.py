"""The shrink test: a swatch measured before and after washing tells how much larger to cut, and asks for a recount."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.reckoning.designs import ClothCounts
from service.reckoning.shrink import ShrinkTest, Swatch, counts_after, shrink_test
from service.records.db import Writing
from service.records.tables import ClothSwatch, Event
from service.records.tables.cloth import SYSTEMS
from service.studio.cloth import CountsNow, cloth_with
from service.studio.sign_in import Person


@dataclass(frozen=True, slots=True)
class SwatchLength:
    """One length of the swatch along one system, before and after washing."""

    system: str
    before_um: int
    after_um: int


@dataclass(frozen=True, slots=True)
class Washing:
    """One swatch as measured, and how it was washed and dried."""

    lengths: Sequence[SwatchLength]
    how: str = ""


def keep_swatch(db: Writing, person: Person, cloth_id: int, washing: Washing, at: datetime) -> ShrinkTest:
    """Keep a swatch's lengths, and let the cloth shrink by what it showed. Raises Wrong for what cannot be cloth."""
    cloth = cloth_with(db, cloth_id)
    rows = [
        ClothSwatch(
            cloth_id=cloth_id,
            system=length.system,
            before_um=length.before_um,
            after_um=length.after_um,
            washed=washing.how,
            account_id=person.id,
            measured_at=at,
        )
        for length in washing.lengths
    ]
    test = test_from(rows)
    before = (cloth.shrink_warp_bp, cloth.shrink_weft_bp)
    cloth.shrink_warp_bp = round(test.shrink_warp_percent * 100)
    cloth.shrink_weft_bp = round(test.shrink_weft_percent * 100)
    cloth.keeps_its_warp, cloth.keeps_its_weft = not cloth.shrink_warp_bp, not cloth.shrink_weft_bp
    db.add(cloth)
    db.add_all(rows)
    event = Event(at=at, account_id=person.id, action="swatch measured", object_kind="cloth", object_id=cloth_id)
    event.before = json.dumps(dict(zip(SYSTEMS, before, strict=True)))
    event.after = json.dumps(dict(zip(SYSTEMS, (cloth.shrink_warp_bp, cloth.shrink_weft_bp), strict=True)))
    event.reason = washing.how
    db.add(event)
    db.flush()
    return test


def test_from(rows: Iterable[ClothSwatch]) -> ShrinkTest:
    """What the lengths of one swatch show."""
    lengths: dict[str, list[float]] = {f"{system}.{when}": [] for system in SYSTEMS for when in ("before", "after")}
    for row in rows:
        lengths[f"{row.system}.before"].append(row.before_um / 1000)
        lengths[f"{row.system}.after"].append(row.after_um / 1000)
    return shrink_test(
        Swatch(
            warp_before_mm=tuple(lengths["warp.before"]),
            warp_after_mm=tuple(lengths["warp.after"]),
            weft_before_mm=tuple(lengths["weft.before"]),
            weft_after_mm=tuple(lengths["weft.after"]),
        )
    )


def expected_after(now: CountsNow, test: ShrinkTest) -> ClothCounts | None:
    """What the cloth should count once washed, by arithmetic alone; None until both systems are counted."""
    if now.warp is None or now.weft is None:
        return None
    before = ClothCounts(now.warp.threads_per_cm, now.weft.threads_per_cm)
    return counts_after(before, test.warp_change_percent, test.weft_change_percent)
