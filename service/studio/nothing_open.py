"""Nothing leaves the studio while a needle or pin of it is missing, or while it is between two pairs of hands."""

from datetime import datetime

from sqlmodel import select

from service.errors import Conflict
from service.records.db import Reading, Writing
from service.records.queries.handovers import offers_of, open_counts
from service.records.queries.needles import open_needles
from service.records.tables import Handover, HandoverPanel


def sharps_open(db: Reading | Writing, garment_id: int) -> list[str]:
    """What is out, missing or broken of a garment's needles and pins, and whose: a sentence each."""
    at_handovers, at_the_table = open_counts(db, garment_id), open_needles(db, garment_id)
    return [*(one.words for one in at_handovers), *(one.words for one in at_the_table)]


def check_nothing_open(db: Reading | Writing, garment_id: int) -> None:
    """Refuse to let a garment go while a needle or pin is missing, or while it is offered and not taken."""
    if missing := sharps_open(db, garment_id):
        raise Conflict(f"{' '.join(missing)} The garment stays here until all of it is found.")
    if offered := offers_of(db, garment_id):
        to = offered[0].to or "the shelf"
        raise Conflict(f"It is offered to {to}. Let that be taken or sent back first, so that the needles are counted.")


def take_offers_back(db: Writing, garment_id: int, account_id: int, reason: str, at: datetime) -> None:
    """End every offer of a garment that is called off: nobody takes it any more."""
    offers = select(Handover).where(Handover.garment_id == garment_id, Handover.state == "offered")
    for handover in db.exec(offers).all():
        handover.state, handover.reason = "sent back", reason
        handover.ended_by, handover.ended_at = account_id, at
        db.add(handover)
        for line in db.exec(select(HandoverPanel).where(HandoverPanel.handover_id == handover.id)):
            line.is_open = False
            db.add(line)
