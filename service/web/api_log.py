"""Counting over JSON: a tally on a step, each key once."""

from decimal import Decimal
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends
from pydantic import AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field

from service.studio.log import MOST_COUNTED, MOST_KEY, MOST_MINUTES, TallyAsk, add_tally, countable_step
from service.web.deps import Id, Now, SignedIn, Writes

REFUSALS: dict[int | str, dict[str, Any]] = {
    401: {"description": "Nobody is signed in."},
    403: {"description": "The step is not in this person's hands, or only the owner may do this."},
    404: {"description": "There is no such step."},
    409: {"description": "Out of order, more than was planned, more than is done, or a key used before."},
    422: {"description": "A field is missing, unknown or cannot be counted with; `errors` names each."},
}
router = APIRouter(prefix="/api", tags=["log"])


def _said(value: object) -> object:
    """A moment is written as text; a bare number might mean anything."""
    if not isinstance(value, str):
        raise ValueError("write a moment as text, like 2027-05-16T10:00:00Z")  # noqa: TRY004 (told at the field)
    return value


Counted = Annotated[float, Field(gt=0, le=MOST_COUNTED)]
Minutes = Annotated[float, Field(ge=0, le=MOST_MINUTES)]
Moment = Annotated[AwareDatetime, Field(strict=False), BeforeValidator(_said)]
Reason = Annotated[str, Field(max_length=1000)]


class TallyIn(BaseModel):
    """One count: `counted` in the step's unit, whole or (cm) to 0.1; `at` is when it was done, if not now.

    `counter` takes a wrong entry back, `unpick` says that work was undone. `overrule` is the owner's reason to
    pass over the order of work; `more_on_cloth` says that the cloth had more than was planned.
    """

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, strict=True)

    key: Annotated[str, Field(min_length=1, max_length=MOST_KEY)]
    counted: Counted
    minutes: Minutes | None = None
    at: Moment | None = None
    kind: Literal["work", "counter", "unpick"] = "work"
    overrule: Reason = ""
    more_on_cloth: bool = False


class StepOut(BaseModel):
    """The step as it stands now."""

    id: int
    operation: str
    unit: str
    quantity: float
    done: float


def step_in_hands(person: SignedIn, db: Writes, step_id: Id) -> None:
    """Refuse a step that is unknown or in other hands before the body is read."""
    countable_step(db, person, step_id)


@router.post("/steps/{step_id}/tallies", responses=REFUSALS, dependencies=[Depends(step_in_hands)])
def tally(step_id: Id, tallied: TallyIn, person: SignedIn, db: Writes, now: Now) -> StepOut:
    """Count work on a step, or take some back; the same key counts once however often it is sent."""
    return StepOut.model_validate(add_tally(db, person, step_id, ask_of(tallied), now), from_attributes=True)


def ask_of(tallied: TallyIn) -> TallyAsk:
    """The count that was sent."""
    return TallyAsk(
        key=tallied.key,
        counted=Decimal(str(tallied.counted)),
        kind=tallied.kind,
        minutes=None if tallied.minutes is None else Decimal(str(tallied.minutes)),
        at=tallied.at,
        overrule=tallied.overrule,
        more_on_cloth=tallied.more_on_cloth,
    )
