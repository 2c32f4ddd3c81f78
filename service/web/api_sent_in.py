"""Counts made away from the network, over JSON: many at once, each kept or refused on its own."""

from dataclasses import asdict, replace
from datetime import datetime
from decimal import Decimal
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field, model_validator

from service.errors import NotAllowed
from service.records.tables.sittings import MOST_NEEDLES, NEEDLE_WAYS
from service.studio.log import MOST_KEY, StepNow, TallyAsk
from service.studio.needles import NeedleAsk
from service.studio.sent_in import KEPT, Kept, SentCount, SentNeedles, StepThen, claimed, take_in
from service.web.api_log import Counted, Minutes, Moment
from service.web.deps import Now, SignedIn, Writes

MOST_AT_ONCE = 100
MOST_NUMBER = 2_147_483_647
OTHER_PERSON = "These counts are another person's. They stay on this device until that person signs in here."
router = APIRouter(prefix="/api", tags=["log"])

Key = Annotated[str, Field(min_length=1, max_length=MOST_KEY)]
Number = Annotated[int, Field(ge=1, le=MOST_NUMBER)]
Sharp = Annotated[int, Field(ge=0, le=MOST_NEEDLES)]


class SentIn(BaseModel):
    """One count: work on a step, an earlier count taken back by its key, or needles and pins out or in."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, strict=True)

    key: Key
    step: Number
    kind: Literal["work", "counter", "out", "in"] = "work"
    counted: Counted | None = None
    takes_back: Key | None = None
    minutes: Minutes | None = None
    needles: Sharp | None = None
    pins: Sharp | None = None
    at: Moment | None = None

    @model_validator(mode="after")
    def _is_whole(self) -> "SentIn":
        if self.kind in NEEDLE_WAYS and (self.needles is None or self.pins is None):
            raise ValueError("say how many needles and how many pins")
        if self.kind == "work" and self.counted is None:
            raise ValueError("say how much was counted")
        if self.kind == "counter" and self.takes_back is None:
            raise ValueError("say the key of the count to take back")
        return self


class AllSentIn(BaseModel):
    """What one person counted, in the order in which it was counted; `account` is whose it is."""

    model_config = ConfigDict(extra="forbid", strict=True)

    account: Number
    counts: Annotated[list[SentIn], Field(min_length=1, max_length=MOST_AT_ONCE)]


class KeptStep(BaseModel):
    """A step as it stands after all of them; `newest` is the number of its newest entry."""

    id: int
    operation: str
    unit: str
    quantity: float
    done: float
    newest: int


class KeptOut(BaseModel):
    """What became of one count: status 200, or that of its refusal with a sentence."""

    key: str
    status: int
    detail: str = ""
    step: KeptStep | None = None


class AllKept(BaseModel):
    """An answer for every count that was sent, in the same order."""

    answers: list[KeptOut]


@router.post(
    "/tallies",
    responses={
        401: {"description": "Nobody is signed in."},
        403: {"description": "Somebody else is signed in than the one who counted; nothing was kept."},
        422: {"description": "A field is missing, unknown or cannot be read; nothing was kept."},
    },
)
def send_in(sent: AllSentIn, person: SignedIn, db: Writes, now: Now) -> AllKept:
    """Keep counts made away from the network; sent again, each key still counts once."""
    if sent.account != person.id:
        raise NotAllowed(OTHER_PERSON)
    return AllKept(answers=[_out(kept) for kept in take_in(db, person, [_sent(each) for each in sent.counts], now)])


def count_of(sent: AllSentIn, at: datetime) -> SentCount | None:
    """The one count on a step that was sent; nothing when there are several, or it is another kind."""
    found = _sent(sent.counts[0])
    if len(sent.counts) > 1 or not isinstance(found, SentCount) or found.takes_back:
        return None
    return replace(found, ask=claimed(found.ask, at))


def kept_alone(key: str, now: StepNow, newest: int) -> AllKept:
    """The answer to one count that was kept as the newest entry of its step."""
    return AllKept(answers=[_out(Kept(key, KEPT, step=StepThen(now, newest)))])


def _sent(each: SentIn) -> SentCount | SentNeedles:
    if each.kind in NEEDLE_WAYS:
        return SentNeedles(each.step, NeedleAsk(each.key, each.kind, each.needles or 0, each.pins or 0, each.at))
    minutes = None if each.minutes is None else Decimal(str(each.minutes))
    ask = TallyAsk(each.key, Decimal(str(each.counted or 0)), each.kind, minutes, each.at)
    return SentCount(each.step, ask, each.takes_back or "")


def _out(kept: Kept) -> KeptOut:
    step = None
    if kept.step is not None:
        step = KeptStep.model_validate({**asdict(kept.step.now), "newest": kept.step.newest})
    return KeptOut(key=kept.key, status=kept.status, detail=kept.sentence, step=step)
