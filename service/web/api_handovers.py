"""Handing over by JSON: offered, taken with needles and pins counted in, or sent back."""

from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends
from pydantic import BaseModel, ConfigDict, Field

from service.records.queries.handovers import HandoverRow, handover_row
from service.records.tables import Handover
from service.records.tables.handovers import MOST_SHARP
from service.studio.handovers import (
    CountedIn,
    Offer,
    check_is_party,
    check_may_take,
    handover_with,
    offer_or_pass_on,
    send_back,
    take,
)
from service.studio.named import receiver_named
from service.studio.sharps import Found, find_missing
from service.web.deps import Id, Now, Reads, SignedIn, Writes

REFUSALS: dict[int | str, dict[str, Any]] = {
    401: {"description": "Nobody is signed in."},
    403: {"description": "It is not in this person's hands, or neither from nor to this person."},
    404: {"description": "There is no such garment, stitcher or handover."},
    409: {
        "description": "Taken, sent back or offered already, joined panels named apart, or more counted in than out.",
    },
    422: {"description": "A field is missing, unknown or cannot be taken; `errors` names each."},
}
READ: dict[int | str, dict[str, Any]] = {status: REFUSALS[status] for status in (401, 403, 404)}
router = APIRouter(prefix="/api/handovers", tags=["handovers"])

Sharp = Annotated[int, Field(ge=0, le=MOST_SHARP)]
RecordId = Annotated[int, Field(ge=1, le=2_147_483_647)]
Words = Annotated[str, Field(max_length=2000)]
Name = Annotated[str, Field(min_length=1, max_length=254)]


class OfferIn(BaseModel):
    """What is offered: some panels by their numbers, or "all"; `to` is a stitcher's number, name or e-mail address.

    `to` null, or "shelf", is the shelf. Whoever offers to herself, and the owner who puts something on the shelf, has
    taken it in the same act.
    """

    model_config = ConfigDict(extra="forbid", strict=True)

    garment: RecordId
    panels: Literal["all"] | Annotated[list[RecordId], Field(min_length=1, max_length=200)]
    to: RecordId | Name | None
    needles_out: Sharp
    pins_out: Sharp
    notes: Words = ""


class TakeIn(BaseModel):
    """Needles and pins as the receiver counted them. Fewer than went out stay open as missing until found."""

    model_config = ConfigDict(extra="forbid", strict=True)

    needles_in: Sharp
    pins_in: Sharp


class SendBackIn(BaseModel):
    """Why it is not taken, or why the offer is taken back."""

    model_config = ConfigDict(extra="forbid", strict=True)

    reason: Annotated[str, Field(min_length=1, max_length=1000)]


class FoundIn(BaseModel):
    """Missing needles and pins that turned up, and where."""

    model_config = ConfigDict(extra="forbid", strict=True)

    needles: Sharp
    pins: Sharp
    note: Annotated[str, Field(min_length=1, max_length=1000)]


class HandoverOut(BaseModel):
    """A handover and its state: offered, taken or sent back."""

    id: int
    state: str


class HandoverTold(HandoverOut):
    """A handover with its names; `to` and a giver are null for the shelf."""

    garment: int
    panels: list[int]
    given_by: list[str | None]
    to: str | None
    offered_at: datetime
    ended_at: datetime | None
    needles_out: int
    pins_out: int
    needles_missing: int
    pins_missing: int
    notes: str
    reason: str


@router.post("", responses=REFUSALS)
def offer(offered: OfferIn, person: SignedIn, db: Writes, at: Now) -> HandoverOut:
    """Offer panels, or a joined garment as one. They stay where they are until the receiver has taken them."""
    panels: frozenset[int] = frozenset() if offered.panels == "all" else frozenset(offered.panels)
    asked = Offer(
        offered.garment,
        receiver_named(db, offered.to),
        panels,
        needles_out=offered.needles_out,
        pins_out=offered.pins_out,
        notes=offered.notes,
    )
    return _out(offer_or_pass_on(db, person, asked, at))


def for_her_to_take(person: SignedIn, db: Writes, handover_id: Id) -> int:
    """The handover's number, refused when unknown or not hers to take before the body is read."""
    check_may_take(db, person, handover_with(db, handover_id))
    return handover_id


def of_hers(person: SignedIn, db: Writes, handover_id: Id) -> int:
    """The handover's number, refused when unknown or when this person has no part in it."""
    check_is_party(db, person, handover_with(db, handover_id))
    return handover_id


@router.post("/{handover_id}/take", responses=REFUSALS)
def take_it(
    number: Annotated[int, Depends(for_her_to_take)], counted: TakeIn, person: SignedIn, db: Writes, at: Now
) -> HandoverOut:
    """Take what is offered: from now on the panels are in the receiver's hands."""
    return _out(take(db, person, number, CountedIn(counted.needles_in, counted.pins_in), at))


@router.post("/{handover_id}/send-back", responses=REFUSALS)
def send_it_back(
    number: Annotated[int, Depends(of_hers)], sent: SendBackIn, person: SignedIn, db: Writes, at: Now
) -> HandoverOut:
    """Send an offer back: nothing moves, and it can be offered again."""
    return _out(send_back(db, person, number, sent.reason, at))


@router.post("/{handover_id}/found", responses=REFUSALS)
def find_what_is_missing(
    number: Annotated[int, Depends(of_hers)], found: FoundIn, person: SignedIn, db: Writes, at: Now
) -> HandoverOut:
    """Write down that missing needles or pins were found."""
    return _out(find_missing(db, person, number, Found(found.needles, found.pins, found.note), at))


@router.get("/{handover_id}", responses=READ)
def show(person: SignedIn, db: Reads, handover_id: Id) -> HandoverTold:
    """One handover, for the owner, the giver and the receiver."""
    check_is_party(db, person, handover_with(db, handover_id))
    row = handover_row(db, handover_id)
    assert row is not None
    return _told(row)


def _out(handover: Handover) -> HandoverOut:
    assert handover.id is not None
    return HandoverOut(id=handover.id, state=handover.state)


def _told(row: HandoverRow) -> HandoverTold:
    return HandoverTold(
        id=row.id,
        state=row.state,
        garment=row.garment_id,
        panels=list(row.panel_ids),
        given_by=[name or None for name in row.givers],
        to=row.to or None,
        offered_at=row.offered_at,
        ended_at=row.ended_at,
        needles_out=row.needles_out,
        pins_out=row.pins_out,
        needles_missing=row.needles_missing,
        pins_missing=row.pins_missing,
        notes=row.notes,
        reason=row.reason,
    )
