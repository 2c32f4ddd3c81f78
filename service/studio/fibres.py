"""What a cloth is made of, by percent of weight: as its maker states it, largest share first."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, delete, select

from service.errors import Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Cloth, ClothFibre, Event
from service.studio.cloth import cloth_with
from service.studio.sign_in import Person

WHOLE_BP = 10_000


@dataclass(frozen=True, slots=True)
class FibreShare:
    """A fibre and its share by weight, in hundredths of a percent."""

    fibre: str
    share_bp: int


def fibres_of(db: Reading | Writing, cloth_ids: Iterable[int]) -> dict[int, tuple[FibreShare, ...]]:
    """The fibres of these cloths, the largest share first; nothing for a cloth that nobody stated them of."""
    wanted = list(cloth_ids)
    found: dict[int, tuple[FibreShare, ...]] = dict.fromkeys(wanted, ())
    rows = select(ClothFibre).where(col(ClothFibre.cloth_id).in_(wanted))
    for row in db.exec(rows.order_by(col(ClothFibre.share_bp).desc(), col(ClothFibre.fibre))):
        found[row.cloth_id] = (*found[row.cloth_id], FibreShare(row.fibre, row.share_bp))
    return found


def state_fibres(db: Writing, person: Person, cloth_id: int, shares: Sequence[FibreShare], at: datetime) -> None:
    """State a cloth's fibres anew; they come to 100 %, or are none when nothing is known any more."""
    cloth_with(db, cloth_id)
    if shares and sum(share.share_bp for share in shares) != WHOLE_BP:
        total = sum(share.share_bp for share in shares) / 100
        raise Unreadable({"share-1": f"The shares must come to 100 %; these come to {total:g} %."})
    names = [share.fibre.lower() for share in shares]
    if len(set(names)) != len(names):
        raise Unreadable({"fibre-1": "Name each fibre once."})
    before = fibres_of(db, [cloth_id])[cloth_id]
    db.exec(delete(ClothFibre).where(col(ClothFibre.cloth_id) == cloth_id))
    db.add_all(ClothFibre(cloth_id=cloth_id, fibre=share.fibre, share_bp=share.share_bp) for share in shares)
    event = Event(at=at, account_id=person.id, action="fibres stated", object_kind="cloth", object_id=cloth_id)
    event.before, event.after = _as_text(before), _as_text(shares)
    db.add(event)
    db.flush()


def fibres_told(shares: Sequence[FibreShare], cloth: Cloth) -> str:
    """A cloth's fibres as a label states them: by percent, or as the shelf calls them when no percent is known."""
    return ", ".join(f"{share.share_bp / 100:g} % {share.fibre}" for share in shares) or cloth.fibre


def _as_text(shares: Sequence[FibreShare]) -> str:
    return json.dumps({share.fibre: share.share_bp for share in shares})
