"""Needles and pins that go with a handed-over piece: out in the receiver's name until they are counted in.

Whoever answers a handover by an account is who counted: the owner for the shelf, and for a stitcher who cannot sign in.
"""

import secrets
from datetime import datetime

from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound
from service.reckoning.sharps_out import Sharps
from service.records.db import Reading, Writing
from service.records.queries.needles import (
    WITH_A_HANDOVER,
    OpenNeedles,
    last_needles,
    needles_and_pins,
    needles_out,
    open_needles,
)
from service.records.queries.out_elsewhere import GONE
from service.records.tables import Account, Event, Handover, HandoverPanel, NeedleCount, Step
from service.records.tables.sittings import MOST_NEEDLES
from service.studio.needles import check_no_more_in
from service.studio.sign_in import Person
from service.studio.standing import locked_garment

NOTHING_OUT = "Nothing is out in that name any more."
COUNTED_FOR_HER = "needles and pins counted in for somebody else"


def go_with_it(db: Writing, handover: Handover, panel_ids: frozenset[int], at: datetime) -> None:
    """Move what was counted in at a handover that is taken out of the giver's name and into the receiver's."""
    assert handover.ended_by is not None
    left = Sharps(handover.needles_out, handover.pins_out)
    for giver in _givers(db, handover, panel_ids):
        out = needles_out(db, giver, handover.garment_id).open
        if left and out:
            _leave_out(db, handover, giver, out.less(left), at)
            left = left.less(out)
    came = Sharps(handover.needles_in or 0, handover.pins_in or 0)
    if came:
        here = needles_out(db, handover.ended_by, handover.garment_id).open
        _leave_out(db, handover, handover.ended_by, here + came, at)


def said_otherwise(db: Reading | Writing, person: Person, garment_id: int, going: Sharps) -> str:
    """What is out in her name, where another number goes with the piece; empty where it agrees or nothing is out."""
    out = needles_out(db, person.id, garment_id).open
    if not out or out == going:
        return ""
    recorded = needles_and_pins(out.needles, out.pins)
    goes = needles_and_pins(going.needles, going.pins)
    if not goes:
        return (
            f"In your name {recorded} are out on this piece, and none go with it. Count again, or say where they are."
        )
    return (
        f"In your name {recorded} are out on this piece, and {goes} go with it. Count again, or say where the others "
        "are, or came from."
    )


def count_in(db: Writing, person: Person, garment_id: int, of_account: int, sharps: Sharps, at: datetime) -> None:
    """Count in what is out in somebody's name: she does it herself, or the owner for anybody.

    Fewer than are out stay missing until they are found; more are refused.
    """
    garment = locked_garment(db, garment_id)
    open_now = {each.account_id: each for each in open_needles(db, garment_id)}
    if of_account not in open_now:
        raise NotFound(NOTHING_OUT)
    if not may_count_in(person, open_now[of_account]):
        raise NotAllowed("Those are counted in by whoever has them out, or by the owner.")
    if garment.state in GONE:
        raise Conflict(f"This garment is {garment.state}; it is not in the studio any more.")
    check_no_more_in(needles_out(db, of_account, garment_id).whole, sharps)
    db.add(_count(db, (of_account, garment_id), "in", sharps, secrets.token_urlsafe(18), at))
    if of_account != person.id:
        _tell(db, person, garment_id, of_account, sharps, at)
    db.flush()


def may_count_in(person: Person, out: OpenNeedles) -> bool:
    """Whether this person counts them in."""
    return person.is_owner or out.account_id == person.id


def _givers(db: Writing, handover: Handover, panel_ids: frozenset[int]) -> list[int]:
    """Whose the needles may have been: whoever took these panels last, then whoever offers them."""
    assert handover.id is not None
    found = (
        select(HandoverPanel.panel_id, Handover.ended_by)
        .join(Handover, col(HandoverPanel.handover_id) == Handover.id)
        .where(Handover.garment_id == handover.garment_id, Handover.state == "taken")
        .where(col(HandoverPanel.panel_id).in_(panel_ids), col(Handover.id) < handover.id)
        .order_by(col(Handover.id))
    )
    last = {panel_id: taker for panel_id, taker in db.exec(found) if taker is not None}
    takers = [last[number] for number in sorted(panel_ids) if number in last]
    return list(dict.fromkeys([*takers, handover.offered_by]))


def _leave_out(db: Writing, handover: Handover, account_id: int, sharps: Sharps, at: datetime) -> None:
    key = f"{WITH_A_HANDOVER}{handover.id} {secrets.token_urlsafe(18)}"
    db.add(_count(db, (account_id, handover.garment_id), "out", sharps, key, at))
    db.flush()


def _count(db: Writing, whose: tuple[int, int], way: str, sharps: Sharps, key: str, at: datetime) -> NeedleCount:
    account_id, garment_id = whose
    last = last_needles(db, account_id, garment_id)
    first = select(Step).where(Step.garment_id == garment_id).order_by(col(Step.id)).limit(1)
    step_id = db.exec(first).one().id if last is None else last.step_id
    assert step_id is not None
    return NeedleCount(
        key=key,
        account_id=account_id,
        garment_id=garment_id,
        step_id=step_id,
        way=way,
        needles=min(sharps.needles, MOST_NEEDLES),
        pins=min(sharps.pins, MOST_NEEDLES),
        at=at,
        recorded_at=at,
    )


def _tell(db: Writing, person: Person, garment_id: int, of_account: int, sharps: Sharps, at: datetime) -> None:
    event = Event(at=at, action=COUNTED_FOR_HER, object_kind="garment", object_id=garment_id)
    event.account_id, event.garment_id = person.id, garment_id
    event.reason = f"{db.get_one(Account, of_account).name}: {sharps.needles} + {sharps.pins}"
    db.add(event)
