"""Photos as a gallery shows them: the newest first, with their names, a page at a time."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Account, Photo, Section, Step, Stitcher

PAGE = 24


@dataclass(frozen=True, slots=True)
class Shown:
    """One photo with its names; `section` and `operation` are empty where it shows none."""

    id: int
    garment_id: int
    width: int
    height: int
    caption: str
    for_client: bool
    section: str
    operation: str
    handover_id: int | None
    step_id: int | None
    account_id: int
    who: str
    at: datetime


def gallery(
    db: Reading | Writing, garment_id: int, part: tuple[str, int] | None = None, before: int | None = None
) -> tuple[list[Shown], bool]:
    """The photos of a garment, or of one part of it, older than the photo `before`; and whether there are more."""
    found = _shown().where(col(Photo.garment_id) == garment_id, col(Photo.taken_out_at).is_(None))
    if part is not None:
        found = found.where(getattr(Photo, part[0]) == part[1])
    if before is not None:
        found = found.where(col(Photo.id) < before)
    rows = [_of(row) for row in db.execute(found.order_by(col(Photo.id).desc()).limit(PAGE + 1))]
    return rows[:PAGE], len(rows) > PAGE


def shown_between(db: Reading, garment_id: int, since: datetime, until: datetime) -> list[Shown]:
    """The photos of a garment taken from one moment until before another, the oldest first."""
    found = _shown().where(col(Photo.garment_id) == garment_id, col(Photo.taken_out_at).is_(None))
    found = found.where(col(Photo.at) >= since, col(Photo.at) < until)
    return [_of(row) for row in db.execute(found.order_by(col(Photo.at), col(Photo.id)))]


def one_shown(db: Reading | Writing, photo_id: int) -> Shown:
    """One photo, with its names."""
    return _of(db.execute(_shown().where(col(Photo.id) == photo_id)).one())


def _shown() -> Any:
    return (
        select(
            Photo,
            col(Section.name).label("section"),
            col(Step.operation).label("operation"),
            col(Account.name).label("account"),
            col(Stitcher.name).label("stitcher"),
        )
        .outerjoin(Step, col(Photo.step_id) == Step.id)
        .outerjoin(Section, (col(Photo.section_id) == Section.id) | (col(Step.section_id) == Section.id))
        .join(Account, col(Photo.account_id) == Account.id)
        .outerjoin(Stitcher, col(Account.stitcher_id) == Stitcher.id)
    )


def _of(row: Any) -> Shown:
    photo: Photo = row.Photo
    assert photo.id is not None
    return Shown(
        id=photo.id,
        garment_id=photo.garment_id,
        width=photo.width,
        height=photo.height,
        caption=photo.caption,
        for_client=photo.for_client,
        section=row.section or "",
        operation=row.operation or "",
        handover_id=photo.handover_id,
        step_id=photo.step_id,
        account_id=photo.account_id,
        who=row.stitcher or row.account,
        at=photo.at,
    )
