"""What changed since somebody last looked, in plain sentences on the work table, and the button that it was seen."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from service.records.db import Reading
from service.records.queries.changed import Counted, Looker, Told, counted_by_others, last_looked, told_of_others
from service.studio.looking import look
from service.studio.sign_in import Person
from service.web.amount_words import counted
from service.web.deps import Now, SignedIn, SignedInDesk, Writes
from service.web.forms import Typed
from service.web.history_words import told
from service.web.words import hours, operation

router = APIRouter(include_in_schema=False)
FIRST_LOOK = timedelta(days=7)
MOST = 40
ADDRESSES = {"garment": "/garments/{}", "commission": "/commissions/{}", "cloth": "/cloth/{}"}
TOLD_OF = {
    "client answered": "the client answered",
    "window first opened": "the client opened her window for the first time",
    "quote accepted": "the quote was accepted",
    "alteration accepted": "the alteration was accepted",
    "cloth corrected": "what is written of it was corrected",
    "swatch measured": "a swatch was washed and measured",
}
WITH_REASON = {"client answered", "quote accepted", "alteration accepted"}


@dataclass(frozen=True, slots=True)
class Sentence:
    """One thing that others did: to what (`name`, at `href`), what, who, if a person of the studio, and when."""

    href: str
    name: str
    what: str
    who: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Changed:
    """What others did, newest first; `since` is empty for somebody who never looked before."""

    since: datetime | None
    until: datetime
    sentences: tuple[Sentence, ...]

    @property
    def shown(self) -> tuple[Sentence, ...]:
        """The newest of them."""
        return self.sentences[:MOST]


def changed_for(db: Reading, person: Person, now: datetime) -> Changed | None:
    """What others did since this person last looked, or in the last week; nothing if they did nothing."""
    since = last_looked(db, person.id)
    looker = Looker(person.id, person.is_owner, person.stitcher_id or 0, since or _hour(now - FIRST_LOOK))
    sentences = [*_worked(counted_by_others(db, looker)), *map(_happened, told_of_others(db, looker))]
    sentences.sort(key=lambda sentence: sentence.at, reverse=True)
    return Changed(since, max(now, sentences[0].at), tuple(sentences)) if sentences else None


def _hour(at: datetime) -> datetime:
    return at.replace(minute=0, second=0, microsecond=0)


@router.post("/looked")
def keep_that_it_was_seen(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now) -> Response:
    try:
        until = datetime.fromisoformat(form.raw("until")).astimezone(UTC)
    except (ValueError, OverflowError):
        until = at
    look(db, person.id, until, at)
    return desk.go("/")


def _worked(counts: Iterable[Counted]) -> list[Sentence]:
    """Counts put together by garment and person, each step once."""
    by_piece: dict[tuple[int, str], list[Counted]] = {}
    for each in counts:
        by_piece.setdefault((each.garment_id, each.who), []).append(each)
    return [_sitting(steps) for steps in by_piece.values()]


def _sitting(steps: list[Counted]) -> Sentence:
    newest = steps[0]
    others = len(steps) - 1
    more = f", and {others} other {'step' if others == 1 else 'steps'}" if others else ""
    done = f"{newest.part}: {operation(newest.operation)}, {_amount(newest)}{more}"
    seconds = sum(step.seconds for step in steps)
    took = f". {hours(seconds * 1000)} in all." if seconds else "."
    return Sentence(f"/garments/{newest.garment_id}", newest.garment, f"{done}{took}", newest.who, newest.at)


def _amount(step: Counted) -> str:
    unit = "clip" if step.operation == "clip" else step.unit
    if step.counted_tenths < 0:
        return f"{counted(-step.counted_tenths, unit)} taken back"
    return counted(step.counted_tenths, unit)


def _happened(each: Told) -> Sentence:
    what = TOLD_OF.get(each.what.action) or told(each.what)
    if each.what.reason and each.what.action in WITH_REASON:
        what = f"{what}: {each.what.reason}"
    href = ADDRESSES[each.kind].format(each.id)
    return Sentence(href, each.name, f"{what}.", each.what.who, each.what.at)
