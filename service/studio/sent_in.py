"""Counts made away from the network, sent in together: each is kept or refused on its own, each key once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TypeVar

from sqlmodel import col, func, select

from service.errors import Conflict, Refusal, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Step, Tally
from service.studio.log import CLAIM_AHEAD, StepNow, TallyAsk, add_tally, take_back
from service.studio.needles import NeedleAsk, count_needles
from service.studio.plain_counts import add_in_order
from service.studio.sign_in import Person

NOT_YET_IN = "The count that this takes back has not come in."
KEPT = 200
PHONE_BACK = timedelta(days=183)
"""No count waits longer on a phone; a clock that says so is wrong, and its hours would fall into an old month."""
Ask = TypeVar("Ask", TallyAsk, NeedleAsk)


@dataclass(frozen=True, slots=True)
class SentCount:
    """One count on a step, or the key of an earlier one that it takes back whole."""

    step_id: int
    ask: TallyAsk
    takes_back: str = ""


@dataclass(frozen=True, slots=True)
class SentNeedles:
    """Needles and pins counted at a step."""

    step_id: int
    ask: NeedleAsk


@dataclass(frozen=True, slots=True)
class StepThen:
    """A step after all of them; `newest` is its newest entry's number, so that the later of two answers can be told."""

    now: StepNow
    newest: int


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of one that was sent: kept (200) with its step as it is then, or refused with a sentence."""

    key: str
    status: int
    sentence: str = ""
    step: StepThen | None = None


def take_in(db: Writing, person: Person, sent: Sequence[SentCount | SentNeedles], at: datetime) -> list[Kept]:
    """Keep all that can be kept, in the order given; a refusal undoes only its own.

    One that came in before is answered as kept, whoever has the piece in hand by now.
    """
    seen = _seen(db, person, sent)
    refusals: dict[int, Refusal | None] = {}
    for place, each in enumerate(sent):
        is_in = isinstance(each, SentCount) and seen.get(each.ask.key) == _said(each)
        refusals[place] = None if is_in else _refusal(db, person, each, at)
    steps = {each.step_id for place, each in enumerate(sent) if refusals[place] is None}
    then = {step_id: _then(db, step_id) for step_id in steps}
    return [_kept(each, refusals[place], then.get(each.step_id)) for place, each in enumerate(sent)]


def newest_of(db: Reading | Writing, step_id: int) -> int:
    """The number of the step's newest entry; 0 when nothing was counted."""
    return db.exec(select(func.max(col(Tally.id))).where(Tally.step_id == step_id)).one() or 0


def _then(db: Writing, step_id: int) -> StepThen:
    step = db.get_one(Step, step_id)
    now = StepNow(step_id, step.operation, step.unit, step.quantity_tenths / 10, step.done_tenths / 10)
    return StepThen(now, newest_of(db, step_id))


def _kept(each: SentCount | SentNeedles, refused: Refusal | None, then: StepThen | None) -> Kept:
    if refused is None:
        return Kept(each.ask.key, KEPT, step=then)
    faults = refused.faults.values() if isinstance(refused, Unreadable) else ()
    return Kept(each.ask.key, refused.status, " ".join(faults) or refused.sentence)


def _refusal(db: Writing, person: Person, each: SentCount | SentNeedles, at: datetime) -> Refusal | None:
    try:
        if isinstance(each, SentCount) and not each.takes_back and _is_added(db, person, each, at):
            return None
        with db.begin_nested():
            _keep(db, person, each, at)
    except Refusal as refused:
        return refused
    return None


def _is_added(db: Writing, person: Person, each: SentCount, at: datetime) -> bool:
    """Whether it was a count in order, and kept: one that is refused has written nothing, so it needs no savepoint."""
    db.flush()
    added = add_in_order(db.connection(), person, each.step_id, claimed(each.ask, at), at)
    if added is not None:
        db.expire_all()
    return added is not None


def _keep(db: Writing, person: Person, each: SentCount | SentNeedles, at: datetime) -> None:
    if isinstance(each, SentNeedles):
        count_needles(db, person, each.step_id, claimed(each.ask, at), at)
    elif each.takes_back:
        take_back(db, person, _wrong(db, each), each.ask.key, at)
    else:
        add_tally(db, person, each.step_id, claimed(each.ask, at), at)


def _wrong(db: Writing, each: SentCount) -> int:
    """The entry to take back."""
    found = db.exec(select(Tally.id).where(Tally.key == each.takes_back, Tally.step_id == each.step_id)).first()
    if found is None:
        raise Conflict(NOT_YET_IN)
    return found


def _seen(
    db: Writing, person: Person, sent: Sequence[SentCount | SentNeedles]
) -> dict[str, tuple[int, str, int | None]]:
    """What came in before under these keys from this person."""
    keys = [each.ask.key for each in sent if isinstance(each, SentCount)]
    found = db.exec(select(Tally).where(col(Tally.key).in_(keys), Tally.account_id == person.id))
    return {row.key: (row.step_id, row.kind, row.counted_tenths if row.kind == "work" else None) for row in found}


def _said(each: SentCount) -> tuple[int, str, int | None]:
    """The same of one that is sent, but for its time: a phone's clock may have been put right meanwhile."""
    return each.step_id, each.ask.kind, None if each.takes_back else int(each.ask.counted * 10)


def claimed(ask: Ask, at: datetime) -> Ask:
    """The count as asked; the phone's time is left out where its clock is plainly wrong."""
    is_near = ask.at is not None and at - PHONE_BACK <= ask.at <= at + CLAIM_AHEAD
    return ask if is_near else replace(ask, at=None)
