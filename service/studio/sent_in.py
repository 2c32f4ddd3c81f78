"""Counts made away from the network, sent in together: each is kept or refused on its own, each key once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from sqlmodel import col, func, select

from service.errors import Conflict, Refusal, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Step, Tally
from service.studio.log import CLAIM_AHEAD, CLAIM_BACK, StepNow, TallyAsk, count_on, countable_step, step_now, take_back
from service.studio.needles import NeedleAsk, count_needles
from service.studio.sign_in import Person

NOT_YET_IN = "The count that this takes back has not come in."
KEPT = 200
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
class Kept:
    """What became of one that was sent: kept (200) with its step as it is now, or refused with a sentence.

    `newest` is the number of the step's newest entry, so that the later of two answers can be told.
    """

    key: str
    status: int
    sentence: str = ""
    step: StepNow | None = None
    newest: int = 0


def take_in(db: Writing, person: Person, sent: Sequence[SentCount | SentNeedles], at: datetime) -> list[Kept]:
    """Keep all that can be kept, in the order given; a refusal undoes only its own."""
    return [_kept(db, person, each, at) for each in sent]


def newest_of(db: Reading | Writing, step_id: int) -> int:
    """The number of the step's newest entry; 0 when nothing was counted."""
    return db.exec(select(func.max(col(Tally.id))).where(Tally.step_id == step_id)).one() or 0


def _kept(db: Writing, person: Person, each: SentCount | SentNeedles, at: datetime) -> Kept:
    try:
        with db.begin_nested():
            return _keep(db, person, each, at)
    except Refusal as refused:
        faults = refused.faults.values() if isinstance(refused, Unreadable) else ()
        return Kept(each.ask.key, refused.status, " ".join(faults) or refused.sentence)


def _keep(db: Writing, person: Person, each: SentCount | SentNeedles, at: datetime) -> Kept:
    if isinstance(each, SentNeedles):
        count_needles(db, person, each.step_id, _claimed(each.ask, at), at)
        return Kept(each.ask.key, KEPT)
    now = _count(db, person, each, at)
    return Kept(each.ask.key, KEPT, step=now, newest=newest_of(db, each.step_id))


def _count(db: Writing, person: Person, each: SentCount, at: datetime) -> StepNow:
    seen = db.exec(select(Tally).where(Tally.key == each.ask.key)).first()
    if seen is not None and _is_same(seen, person, each):
        return step_now(db.get_one(Step, each.step_id))
    if each.takes_back:
        wrong = db.exec(select(Tally).where(Tally.key == each.takes_back, Tally.step_id == each.step_id)).first()
        if wrong is None:
            raise Conflict(NOT_YET_IN)
        assert wrong.id is not None
        return take_back(db, person, wrong.id, each.ask.key, at)
    return count_on(db, person, countable_step(db, person, each.step_id), _claimed(each.ask, at), at)


def _is_same(seen: Tally, person: Person, each: SentCount) -> bool:
    """Whether a key seen before came with this very count; a phone's clock may have been put right meanwhile."""
    return (seen.account_id, seen.step_id, seen.kind) == (person.id, each.step_id, each.ask.kind) and (
        bool(each.takes_back) or seen.counted_tenths == each.ask.counted * 10
    )


def _claimed(ask: Ask, at: datetime) -> Ask:
    """The count as asked; the phone's time is left out where its clock is plainly wrong."""
    is_near = ask.at is not None and at - CLAIM_BACK <= ask.at <= at + CLAIM_AHEAD
    return ask if is_near else replace(ask, at=None)
