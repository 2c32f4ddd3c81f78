"""One client's data: all of it as one file, its erasure, and whose data has been kept long enough."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zipfile import ZIP_STORED, ZipFile

from sqlalchemy import func, select, text
from sqlmodel import SQLModel, col

from service.errors import Conflict, Unreadable
from service.records.db import Database, Reading, Writing
from service.records.photo_store import PhotoStore
from service.records.tables import (
    Account,
    ChildMeasure,
    Client,
    Commission,
    Erasure,
    Event,
    Garment,
    Keeping,
    KeptResult,
    Payment,
    Photo,
    Quote,
    QuoteGarment,
    QuoteInstalment,
)
from service.studio.clients import client_with
from service.studio.personal import WIPES
from service.studio.photos import remove_unused
from service.studio.pictures import name_of
from service.studio.quote_seal import seal_of

OPEN = ("asked", "quoted", "agreed")
ERASED_LIST = "erased.txt"
_OF_QUOTE = {"id", "commission_id", "kind", "version", "state", "currency", "price_minor", "tax_name", "tax_minor"}
_OF_GARMENT = {"id", "commission_id", "name", "size", "state", "wanted_on", "created_at", "finished_at", "delivered_at"}


@dataclass(frozen=True, slots=True)
class KeptLongEnough:
    """A client whose last piece was delivered so long ago that her data may go."""

    client_id: int
    name: str
    last: date


def everything_of(db: Reading | Writing, client_id: int) -> dict[str, Any]:
    """All that is kept of a client, as JSON may hold it; no price's making, no hours, nobody else's name."""
    client = client_with(db, client_id)
    commissions = _rows(db, Commission, Commission.client_id, [client_id])
    numbers = [row.id for row in commissions]
    garments = _rows(db, Garment, Garment.commission_id, numbers)
    quotes = _rows(db, Quote, Quote.commission_id, numbers)
    of_quote = {*_OF_QUOTE, "total_minor", "valid_until", "includes", "leaves_out", "note", "sent_at"}
    quoted = [row.id for row in quotes]
    made = [row.id for row in garments]
    return {
        "client": client.model_dump(mode="json"),
        "commissions": _told(commissions),
        "child_measures": _told(_rows(db, ChildMeasure, ChildMeasure.commission_id, numbers)),
        "garments": _told(garments, _OF_GARMENT),
        "fit_and_other_answers_kept": _told(_rows(db, KeptResult, KeptResult.garment_id, made)),
        "quotes": _told(quotes, {*of_quote, "accepted_at", "accepted_name"}),
        "quoted_garments": _told(
            _rows(db, QuoteGarment, QuoteGarment.quote_id, quoted), {"quote_id", "name", "price_minor"}
        ),
        "instalments": _told(_rows(db, QuoteInstalment, QuoteInstalment.quote_id, quoted)),
        "payments": _told(_rows(db, Payment, Payment.commission_id, numbers), without={"account_id"}),
        "photos": [
            {
                "file": f"photos/{row.id}.jpg",
                "garment_id": row.garment_id,
                "caption": row.caption,
                "at": row.at.isoformat(),
            }
            for row in _photos(db, made)
        ],
    }


def write_export(db: Reading, store: PhotoStore, client_id: int, into: Path) -> None:
    """Write everything of a client into one zip file: the data as JSON, and the photos."""
    data = everything_of(db, client_id)
    made = [row["id"] for row in data["garments"]]
    with ZipFile(into, "w", ZIP_STORED) as pack:
        pack.writestr("data.json", json.dumps(data, ensure_ascii=False, indent=1))
        for photo in _photos(db, made):
            pack.writestr(f"photos/{photo.id}.jpg", store.read(name_of(photo.sha256, "large")))


def erase(db: Writing, client_id: int, account_id: int, at: datetime) -> list[str]:
    """Erase a client's personal data; hours and sums stay, naming nobody. Gives the digests of photos that may go.

    Refused while a commission of hers is open. The photos' files are removed once this is kept.
    """
    client_with(db, client_id)
    if _is_open(db, client_id):
        raise Conflict("A commission of this client is still open. Close it or call it off first.")
    digests = _take_photos_out(db, client_id, account_id, at)
    for wipe in WIPES:
        db.execute(text(wipe.statement), {"client": client_id})
    db.expire_all()
    _seal_again(db, client_id)
    if db.execute(select(col(Erasure.id)).where(col(Erasure.client_id) == client_id)).first() is None:
        db.add(Erasure(client_id=client_id, account_id=account_id, at=at))
    db.add(Event(at=at, account_id=account_id, action="data erased", object_kind="client", object_id=client_id))
    db.flush()
    return digests


def erase_for_good(database: Database, store: PhotoStore, client_id: int, account_id: int, at: datetime) -> None:
    """Erase a client's data and, once that is kept, the files of her photos; remember it beside the records."""
    with database.writing(account_id) as db:
        digests = erase(db, client_id, account_id, at)
    database.overwrite_what_was_deleted()
    remove_unused(database, store, digests)


def erased_numbers(db: Reading | Writing) -> list[int]:
    """The clients whose data was erased."""
    return list(db.execute(select(col(Erasure.client_id)).order_by(col(Erasure.id))).scalars())


def remember(folder: Path, numbers: Iterable[int]) -> None:
    """Keep the numbers of erased clients in the data folder, so that an older backup cannot bring them back."""
    kept = sorted({*remembered(folder), *numbers})
    (folder / ERASED_LIST).write_text("".join(f"{number}\n" for number in kept), encoding="ascii")


def remembered(folder: Path) -> list[int]:
    """The numbers of erased clients that the data folder remembers."""
    path = folder / ERASED_LIST
    lines = path.read_text(encoding="ascii").split() if path.exists() else []
    return [int(line) for line in lines if line.isdigit()]


def erase_again(database: Database, store: PhotoStore, numbers: Iterable[int], at: datetime) -> int:
    """After an older backup is put back: erase anew whoever it brought back. Gives how many that were."""
    with database.reading() as db:
        done = set(erased_numbers(db))
        owners = select(col(Account.id)).where(col(Account.role) == "owner").order_by(col(Account.id))
        owner_id = db.execute(owners.limit(1)).scalar()
        known = set(db.execute(select(col(Client.id))).scalars())
    brought_back = [number for number in numbers if number in known - done]
    for number in brought_back:
        with database.writing() as db:
            _close_all(db, number)
        erase_for_good(database, store, number, owner_id or 0, at)
    return len(brought_back)


def keep_for(db: Writing, days: int) -> None:
    """Say for how many days after the last delivery a client's data is kept."""
    if not 1 <= days <= 36_500:
        raise Unreadable({"client_days": "Write between 1 and 36 500 days."})
    keeping = db.get(Keeping, 1) or Keeping()
    keeping.client_days = days
    db.add(keeping)
    db.flush()


def days_kept(db: Reading | Writing) -> int:
    """For how many days after the last delivery a client's data is kept."""
    return (db.get(Keeping, 1) or Keeping()).client_days


def kept_long_enough(db: Reading | Writing, today: date) -> list[KeptLongEnough]:
    """Clients whose data may go: nothing of theirs is open, and the last delivery or wish lies long enough back."""
    last = func.max(func.coalesce(Garment.delivered_at, Commission.wanted_on))
    found = (
        select(col(Client.id), col(Client.name), last)
        .join(Commission, col(Commission.client_id) == Client.id)
        .outerjoin(Garment, col(Garment.commission_id) == Commission.id)
        .where(col(Client.id).not_in(select(col(Erasure.client_id))))
        .where(col(Client.id).not_in(select(col(Commission.client_id)).where(col(Commission.state).in_(OPEN))))
        .group_by(col(Client.id), col(Client.name))
        .order_by(col(Client.name))
    )
    before = today - timedelta(days=days_kept(db))
    rows = [KeptLongEnough(number, name, _day(moment)) for number, name, moment in db.execute(found)]
    return [row for row in rows if row.last < before]


def _day(moment: Any) -> date:
    return date.fromisoformat(str(moment)[:10])


def _is_open(db: Writing, client_id: int) -> bool:
    found = select(col(Commission.id)).where(col(Commission.client_id) == client_id, col(Commission.state).in_(OPEN))
    return db.execute(found.limit(1)).first() is not None


def _close_all(db: Writing, client_id: int) -> None:
    found = select(Commission).where(col(Commission.client_id) == client_id, col(Commission.state).in_(OPEN))
    for commission in db.execute(found).scalars():
        commission.state = "closed"
        db.add(commission)


def _take_photos_out(db: Writing, client_id: int, account_id: int, at: datetime) -> list[str]:
    garments = select(col(Garment.id)).join(Commission).where(col(Commission.client_id) == client_id)
    photos = db.execute(select(Photo).where(col(Photo.garment_id).in_(garments))).scalars().all()
    for photo in photos:
        photo.caption, photo.for_client = "", False
        photo.taken_out_at, photo.taken_out_by = photo.taken_out_at or at, photo.taken_out_by or account_id
        db.add(photo)
    db.flush()
    return [photo.sha256 for photo in photos]


def _seal_again(db: Writing, client_id: int) -> None:
    """What a sent quote says has lost its names, so its seal is taken anew."""
    found = select(Quote).join(Commission).where(col(Commission.client_id) == client_id, col(Quote.sealed_sha256) != "")
    for quote in db.execute(found).scalars().all():
        quote.sealed_sha256 = seal_of(db, quote)
        db.add(quote)


def _photos(db: Reading | Writing, garment_ids: Sequence[Any]) -> list[Photo]:
    found = select(Photo).where(col(Photo.garment_id).in_(garment_ids), col(Photo.taken_out_at).is_(None))
    return list(db.execute(found.order_by(col(Photo.id))).scalars())


def _rows(db: Reading | Writing, table: type[Any], column: Any, numbers: Sequence[Any]) -> list[Any]:
    return list(db.execute(select(table).where(col(column).in_(numbers)).order_by(col(table.id))).scalars())


def _told(
    rows: Iterable[SQLModel], only: set[str] | None = None, without: set[str] | None = None
) -> list[dict[str, Any]]:
    return [row.model_dump(mode="json", include=only, exclude=without) for row in rows]
