"""The demo studio's photos: bands of a few of its pieces, after withdrawing and while they were knotted."""

from collections.abc import Iterator
from datetime import timedelta
from operator import itemgetter
from typing import Any

from sqlmodel import col, func, select

from service.records.db import Writing
from service.records.photo_store import PhotoStore
from service.records.queries.standing import is_seen_by
from service.records.tables import Garment, Section, Step, Tally
from service.studio.demo_pictures import Seen, drawn_photo
from service.studio.demo_records import Stock
from service.studio.photos import NewPhotos, Shows, add_photos, show_to_client
from service.studio.pictures import picture_of

PIECES = 4
A_MOMENT = timedelta(minutes=4)
LINENS = ("white", "cream", "grey", "white")
KNOTS = ("hem_knot", "ladder_knot", "tuck_knot")


def fill_photos(db: Writing, store: PhotoStore, stock: Stock) -> None:
    """Put photos of the last bands worked on into the book; the knots that the owner took may be shown."""
    workers = {worker.person.id: worker.person for worker in stock.workers.values()}
    owner = stock.workers["edda"].person
    for linen, (garment, section_id) in zip(LINENS, _bands(db), strict=False):
        for operation, account_id, at in sorted(_worked(db, section_id), key=itemgetter(2)):
            assert garment.id is not None
            withdrawn = operation == "withdraw"
            seen = Seen(linen, 0 if withdrawn else 13, 0 if withdrawn else 8)
            words = "All the threads are out." if withdrawn else "The knots so far, both edges."
            new = NewPhotos(Shows(garment.id, section_id=section_id), [picture_of(drawn_photo(seen))], words)
            worker = workers[account_id]
            by = worker if is_seen_by(db, garment.id, worker.stitcher_id) else owner
            (photo,) = add_photos(db, store, by, new, at + A_MOMENT)
            if by.is_owner and not withdrawn and photo.id is not None:
                show_to_client(db, owner, photo.id, shown=True, at=at + 2 * A_MOMENT)


def _bands(db: Writing) -> Iterator[tuple[Garment, int]]:
    """The garments worked on last, with the band of each on which a knot was last tied."""
    last = (
        select(Step.garment_id, Step.section_id, func.max(Tally.id).label("newest"))
        .join(Step, col(Tally.step_id) == Step.id)
        .join(Section, col(Step.section_id) == Section.id)
        .where(col(Step.operation).in_(KNOTS), Tally.kind == "work", col(Section.withdrawn_threads).is_not(None))
        .group_by(col(Step.garment_id), col(Step.section_id))
        .order_by(func.max(Tally.id).desc())
    )
    seen: set[int] = set()
    for garment_id, section_id, _ in db.exec(last):
        if garment_id not in seen and section_id is not None and len(seen) < PIECES:
            seen.add(garment_id)
            yield db.get_one(Garment, garment_id), section_id


def _worked(db: Writing, section_id: int) -> Iterator[tuple[str, int, Any]]:
    """The last entry of withdrawing and of knotting in a band, with who made it and when."""
    found = (
        select(Step.operation, Tally.account_id, Tally.at)
        .join(Tally, col(Tally.step_id) == Step.id)
        .where(Step.section_id == section_id, Tally.kind == "work", col(Step.operation).in_(("withdraw", *KNOTS)))
        .order_by(col(Tally.id).desc())
    )
    told: set[bool] = set()
    for operation, account_id, at in db.exec(found):
        if account_id is not None and (operation == "withdraw") not in told:
            told.add(operation == "withdraw")
            yield operation, account_id, at
