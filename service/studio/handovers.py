"""Handing over: a piece is offered, then taken with its needles and pins counted in, or sent back with a reason.

Only a taken handover moves a panel. Whoever would both give and take (the owner to herself, or to and from the shelf)
does it in one act, and that is kept as a handover too.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.queries.handovers import missing_words, panels_offered
from service.records.tables import (
    Account,
    Event,
    Garment,
    Handover,
    HandoverMaterial,
    HandoverPanel,
    HandoverPlace,
    Panel,
    Stitcher,
)
from service.records.tables.handovers import MOST_BUNDLES_TENTHS, MOST_SHARP
from service.studio.hands import settle
from service.studio.sign_in import Person
from service.studio.standing import locked_garment
from service.studio.stopping import sections_left, write_places
from service.studio.travelling import go_with_it

GIVEN, OFFERED, SENT_BACK = "given", "offered", "sent back"
GONE = ("delivered", "called off")


@dataclass(frozen=True, slots=True)
class Tools:
    """What a section is worked with, as the giver says: the thread, and the needle."""

    thread: str
    needle: str


@dataclass(frozen=True, slots=True)
class Offer:
    """These panels of a garment (all, when none is named) for a stitcher, or for the shelf when nobody is named.

    `bundles_tenths` are the bundles on 50 mm of the work, in tenths, at two places. `tools` by section.
    """

    garment_id: int
    to_id: int | None
    panel_ids: frozenset[int] = frozenset()
    needles_out: int = 0
    pins_out: int = 0
    notes: str = ""
    tension: str = ""
    bundles_tenths: tuple[int, int] | None = None
    odd: str = ""
    materials: tuple[tuple[str, str], ...] = ()
    tools: Mapping[int, Tools] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CountedIn:
    """Needles and pins as the receiver counted them."""

    needles: int
    pins: int


def offer(db: Writing, person: Person, asked: Offer, at: datetime) -> Handover:
    """Offer panels, or the joined garment as one, to other hands.

    The owner offers anything, a stitcher what is in her own hands. Refused: panels offered already, some of a joined
    garment, what is in those hands already, a garment that is gone.
    """
    garment = locked_garment(db, asked.garment_id)
    panels = panels_now(db, garment)
    if asked.panel_ids - {panel.id for panel in panels}:
        raise Unreadable({"panels": "Choose panels of this garment."})
    chosen = [panel for panel in panels if not asked.panel_ids or panel.id in asked.panel_ids]
    if not person.is_owner and any(panel.holder_id != person.stitcher_id for panel in chosen):
        raise NotAllowed("Only what is in your own hands can be given on by you.")
    _check_numbers(asked)
    _check_receiver(db, asked.to_id)
    moving = _moving(db, garment, asked, chosen, len(panels))
    handover = _write(db, person, garment, asked, at)
    assert handover.id is not None
    for panel in moving:
        assert panel.id is not None
        db.add(HandoverPanel(handover_id=handover.id, panel_id=panel.id, from_id=panel.holder_id))
    _flush(db)
    _keep(db, person, handover, OFFERED, at, asked.notes)
    _write_places(db, garment, handover, asked.tools)
    return handover


def take(db: Writing, person: Person, handover_id: int, counted: CountedIn, at: datetime) -> Handover:
    """Take what is offered, needles and pins counted in; the panels move into the receiver's hands.

    What came with it is out in the name of whoever took it, until it is counted in at the end of a sitting.
    Fewer than went out: it is taken, and stays open as missing until they are found; the garment cannot be finished
    before. More than went out is refused: somebody counted wrongly, and only both together can say who.
    """
    handover, garment = _answering(db, handover_id)
    check_may_take(db, person, handover)
    _check_open(db, handover)
    if garment.state in GONE:
        raise Conflict(f"This garment is {garment.state}; it is in nobody's hands any more.")
    _check_counts(handover, counted)
    panels = panels_now(db, garment)
    moving = _panels_of(db, handover)
    if garment.joined_at is not None and len(moving) < len(panels):
        raise Conflict(
            "The panels were joined since this was offered, so they move together. Send it back, and let the garment "
            "be handed over as one."
        )
    _write_places(db, garment, handover)
    handover.needles_in, handover.pins_in = counted.needles, counted.pins
    _end(db, person, handover, "taken", at)
    go_with_it(db, handover, frozenset(line.panel_id for line in moving), at)
    by_id = {panel.id: panel for panel in panels}
    for line in moving:
        panel = by_id[line.panel_id]
        _keep_given(db, person, panel, handover, at)
        panel.holder_id, line.is_open = handover.to_id, False
        db.add(panel)
        db.add(line)
    db.flush()
    settle(db, garment, panels, at)
    return handover


def send_back(db: Writing, person: Person, handover_id: int, reason: str, at: datetime) -> Handover:
    """Send an offer back with a reason: the receiver who will not take it, or the giver who takes the offer back."""
    handover, _ = _answering(db, handover_id)
    check_is_party(db, person, handover)
    _check_open(db, handover)
    if not reason.strip():
        raise Unreadable({"reason": "Say why, in a few words."})
    handover.reason = reason.strip()
    _end(db, person, handover, "sent back", at)
    for line in _panels_of(db, handover):
        line.is_open = False
        db.add(line)
    _keep(db, person, handover, SENT_BACK, at, handover.reason)
    db.flush()
    return handover


def panels_now(db: Writing, garment: Garment) -> list[Panel]:
    """The panels of a garment that is held, as they are now, whatever this session had read of them before."""
    found = select(Panel).where(Panel.garment_id == garment.id).order_by(col(Panel.position)).with_for_update()
    return list(db.exec(found.execution_options(populate_existing=True)))


def pass_on(db: Writing, giver: Person, taker: Person, asked: Offer, at: datetime) -> Handover:
    """Offered by one and taken by the other at the same moment, all needles and pins counted in."""
    handover = offer(db, giver, asked, at)
    assert handover.id is not None
    return take(db, taker, handover.id, CountedIn(asked.needles_out, asked.pins_out), at)


def offer_or_pass_on(db: Writing, person: Person, asked: Offer, at: datetime) -> Handover:
    """Offer it; and take it in the same act when whoever gives is whoever takes."""
    takes_it_herself = person.is_owner if asked.to_id is None else person.stitcher_id == asked.to_id
    return pass_on(db, person, person, asked, at) if takes_it_herself else offer(db, person, asked, at)


def handover_with(db: Reading | Writing, handover_id: int) -> Handover:
    """The handover of that number, or a refusal."""
    handover = db.get(Handover, handover_id)
    if handover is None:
        raise NotFound("There is no such handover.")
    return handover


def may_take(db: Reading | Writing, person: Person, handover: Handover) -> bool:
    """Whether this person is the receiver: the owner for the shelf, and for a stitcher who cannot sign in herself."""
    if handover.to_id is None:
        return person.is_owner
    if person.stitcher_id == handover.to_id:
        return True
    return person.is_owner and not _can_sign_in(db, handover.to_id)


def check_may_take(db: Reading | Writing, person: Person, handover: Handover) -> None:
    """Refuse whoever is not the receiver."""
    if may_take(db, person, handover):
        return
    if handover.to_id is None:
        raise NotAllowed("What goes to the shelf is taken in by the owner.")
    name = db.get_one(Stitcher, handover.to_id).name
    raise NotAllowed(f"It is offered to {name}: only she can count it in and take it.")


def is_party(db: Reading | Writing, person: Person, handover: Handover) -> bool:
    """Whether it is from her, to her, or she is the owner."""
    if person.is_owner or handover.offered_by == person.id:
        return True
    if person.stitcher_id is None:
        return False
    givers = select(HandoverPanel.id).where(
        HandoverPanel.handover_id == handover.id, HandoverPanel.from_id == person.stitcher_id
    )
    return person.stitcher_id == handover.to_id or db.exec(givers.limit(1)).first() is not None


def check_is_party(db: Reading | Writing, person: Person, handover: Handover) -> None:
    """Refuse whoever has no part in it."""
    if not is_party(db, person, handover):
        raise NotAllowed("This handover is neither from you nor to you.")


def kept_places(db: Reading | Writing, handover: Handover) -> list[HandoverPlace]:
    """Where the sections stopped, as the handover keeps it."""
    found = select(HandoverPlace).where(HandoverPlace.handover_id == handover.id).order_by(col(HandoverPlace.id))
    return list(db.exec(found))


def panel_ids_of(db: Reading | Writing, handover: Handover) -> frozenset[int]:
    """The panels handed over."""
    return frozenset(line.panel_id for line in _panels_of(db, handover))


def _can_sign_in(db: Reading | Writing, stitcher_id: int) -> bool:
    found = select(Account.id).where(Account.stitcher_id == stitcher_id, col(Account.active))
    return db.exec(found).first() is not None


def _check_numbers(asked: Offer) -> None:
    faults = {
        name: f"Count from 0 to {MOST_SHARP}."
        for name, number in (("needles_out", asked.needles_out), ("pins_out", asked.pins_out))
        if not 0 <= number <= MOST_SHARP
    }
    if asked.bundles_tenths and not all(1 <= tenths <= MOST_BUNDLES_TENTHS for tenths in asked.bundles_tenths):
        faults["given_first"] = f"Count from 0.1 to {MOST_BUNDLES_TENTHS // 10} bundles."
    if faults:
        raise Unreadable(faults)


def _check_receiver(db: Writing, stitcher_id: int | None) -> None:
    if stitcher_id is None:
        return
    stitcher = db.get(Stitcher, stitcher_id)
    if stitcher is None:
        raise NotFound("There is no such stitcher.")
    if stitcher.left_on is not None:
        raise Conflict(f"{stitcher.name} has left the studio, so nothing can be given to her.")


def _moving(db: Writing, garment: Garment, asked: Offer, chosen: list[Panel], whole: int) -> list[Panel]:
    """The panels that are offered, after every check of how things stand."""
    if garment.state in GONE:
        raise Conflict(f"This garment is {garment.state}; it is in nobody's hands any more.")
    if garment.joined_at is not None and len(chosen) < whole:
        raise Conflict("The panels are joined, so they move together: hand the garment over as one.")
    assert garment.id is not None
    offered = panels_offered(db, garment.id)
    for panel in chosen:
        if panel.id in offered:
            to = offered[panel.id] or "the shelf"
            raise Conflict(f"{panel.name} is offered to {to} already. Let that be taken or sent back first.")
    staying = [panel for panel in chosen if panel.holder_id == asked.to_id]
    if len(staying) == len(chosen) or (staying and asked.panel_ids):
        where = "on the shelf" if asked.to_id is None else f"in {db.get_one(Stitcher, asked.to_id).name}'s hands"
        raise Conflict(f"{staying[0].name} is {where} already.")
    return [panel for panel in chosen if panel not in staying]


def _write(db: Writing, person: Person, garment: Garment, asked: Offer, at: datetime) -> Handover:
    assert garment.id is not None
    first, second = asked.bundles_tenths or (None, None)
    handover = Handover(
        garment_id=garment.id,
        to_id=asked.to_id,
        as_one=garment.joined_at is not None,
        offered_by=person.id,
        offered_at=at,
        needles_out=asked.needles_out,
        pins_out=asked.pins_out,
        tension=asked.tension,
        given_first_tenths=first,
        given_second_tenths=second,
        odd=asked.odd,
        notes=asked.notes,
    )
    db.add(handover)
    db.flush()
    assert handover.id is not None
    for what, amount in asked.materials:
        db.add(HandoverMaterial(handover_id=handover.id, what=what, amount=amount))
    return handover


def _flush(db: Writing) -> None:
    try:
        db.flush()
    except IntegrityError as error:  # the database holds one open offer a panel
        raise Conflict("One of these is offered already. Look at how things stand, and try again.") from error


def _write_places(db: Writing, garment: Garment, handover: Handover, tools: Mapping[int, Tools] | None = None) -> None:
    db.flush()
    write_places(db, handover, sections_left(db, garment, panel_ids_of(db, handover)))
    db.flush()
    for row in kept_places(db, handover) if tools else ():
        if (said := (tools or {}).get(row.section_id)) is not None:
            row.thread, row.needle = said.thread, said.needle
            db.add(row)


def _answering(db: Writing, handover_id: int) -> tuple[Handover, Garment]:
    """The handover as it stands, its garment held, so that of two who answer only the first does."""
    garment = locked_garment(db, handover_with(db, handover_id).garment_id)
    return db.get_one(Handover, handover_id, populate_existing=True), garment


def _check_open(db: Writing, handover: Handover) -> None:
    if handover.state == "offered":
        return
    assert handover.ended_by is not None
    who = db.get_one(Account, handover.ended_by).name
    said = "taken" if handover.state == "taken" else "sent back"
    raise Conflict(f"This was {said} already, by {who}.")


def _check_counts(handover: Handover, counted: CountedIn) -> None:
    faults = {
        field: f"Count from 0 to {MOST_SHARP}."
        for field, number in (("needles_in", counted.needles), ("pins_in", counted.pins))
        if not 0 <= number <= MOST_SHARP
    }
    if faults:
        raise Unreadable(faults)
    needles, pins = max(0, counted.needles - handover.needles_out), max(0, counted.pins - handover.pins_out)
    if needles or pins:
        raise Conflict(
            f"That is {missing_words(needles, pins)} more than went out. Count again together; if the count that went "
            "out was wrong, send it back with that reason, so that it is offered with the right one."
        )


def _panels_of(db: Reading | Writing, handover: Handover) -> list[HandoverPanel]:
    return list(db.exec(select(HandoverPanel).where(HandoverPanel.handover_id == handover.id)))


def _end(db: Writing, person: Person, handover: Handover, state: str, at: datetime) -> None:
    handover.state, handover.ended_by, handover.ended_at = state, person.id, at
    db.add(handover)


def _keep(db: Writing, person: Person, handover: Handover, action: str, at: datetime, reason: str) -> None:
    assert handover.id is not None
    event = Event(at=at, action=action, object_kind="handover", object_id=handover.id, reason=reason)
    event.account_id, event.garment_id = person.id, handover.garment_id
    db.add(event)


def _keep_given(db: Writing, person: Person, panel: Panel, handover: Handover, at: datetime) -> None:
    """Keep who held a panel before and who holds it now, by their numbers; nobody is the shelf."""
    assert panel.id is not None
    event = Event(at=at, action=GIVEN, object_kind="panel", object_id=panel.id, reason=handover.notes)
    event.account_id, event.garment_id = person.id, panel.garment_id
    event.before = "" if panel.holder_id is None else str(panel.holder_id)
    event.after = "" if handover.to_id is None else str(handover.to_id)
    db.add(event)
