"""The page of trials: which ten minutes on a scrap would narrow the hours of a garment, or a commission, most."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.errors import NotFound
from service.reckoning.hours_left import HoursLeft, hours_left
from service.reckoning.trial import Trial, trials
from service.records.db import Reading
from service.records.tables import Commission, Garment, Stitcher
from service.studio.rates import stretches_left, whose
from service.web.deps import Desk, Id, OwnerDesk, Reads
from service.web.learning import LearningHere

router = APIRouter(include_in_schema=False)
MOST_SHOWN = 6
OPEN = ("planned", "in work")
ALL = 0


@dataclass(frozen=True, slots=True)
class Tried:
    """One trial as the page shows it: by whom, and the range of hours before and after, in hours."""

    trial: Trial
    by: str
    low: float
    high: float


@router.get("/garments/{garment_id}/trial")
def show_trial_for_garment(desk: OwnerDesk, db: Reads, learning: LearningHere, garment_id: Id) -> Response:
    garment = db.get(Garment, garment_id)
    if garment is None:
        raise NotFound("There is no such garment.")
    open_ids = [garment_id] if garment.state in OPEN else []
    return _page(desk, db, learning, open_ids, (garment.name, f"/garments/{garment_id}"))


@router.get("/commissions/{commission_id}/trial")
def show_trial_for_commission(desk: OwnerDesk, db: Reads, learning: LearningHere, commission_id: Id) -> Response:
    commission = db.get(Commission, commission_id)
    if commission is None:
        raise NotFound("There is no such commission.")
    is_open = (Garment.commission_id == commission_id, col(Garment.state).in_(OPEN))
    open_ids = [number for number in db.exec(select(Garment.id).where(*is_open)) if number is not None]
    return _page(desk, db, learning, open_ids, (commission.title, f"/commissions/{commission_id}"))


def _page(desk: Desk, db: Reading, learning: LearningHere, ids: Sequence[int], of: tuple[str, str]) -> Response:
    learned, kappa = learning.exact(db), learning.record(db).held.kappa
    work = [stretch for stretches in stretches_left(db, ids).values() for stretch in stretches]
    left = hours_left(learned.drawn, {ALL: work}, kappa)[ALL]
    names = {whose(number): name for number, name in db.exec(select(Stitcher.id, Stitcher.name))}
    found = [] if left.is_none else [_tried(each, left, names) for each in trials(learned.fit, work)[:MOST_SHOWN]]
    return desk.page(
        "garments/trial.html",
        "table",
        name=of[0],
        back=of[1],
        left=left,
        trials=found,
        mostly_guesses=learned.mostly_guesses,
    )


def _tried(trial: Trial, left: HoursLeft, names: dict[str, str]) -> Tried:
    middle = left.at(50)
    low, high = (trial.narrowed(middle, left.at(end)) for end in (10, 90))
    return Tried(trial, names.get(trial.pace.stitcher, ""), low, high)
