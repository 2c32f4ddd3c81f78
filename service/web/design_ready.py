"""The page of designs that come with the service, to be taken into the book as they are."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.design_text import read_design
from service.studio.ready_designs import ready_designs, take_ready, taken_already
from service.web.deps import Now, OwnerDesk, Reads, Writes
from service.web.design_pages import DesignSummary, summary_of
from service.web.forms import Typed

router = APIRouter(include_in_schema=False, prefix="/designs/ready")


@dataclass(frozen=True, slots=True)
class ReadyLine:
    """One design that is ready; `taken_as` is its number in the book, if it stands there already."""

    key: str
    name: str
    shown: DesignSummary
    taken_as: int | None


@router.get("")
def show_ready_designs(desk: OwnerDesk, db: Reads) -> Response:
    taken = taken_already(db)
    lines = [
        ReadyLine(key, read_design(text).name, summary_of(text, f"ready-{place}"), taken.get(key))
        for place, (key, text) in enumerate(ready_designs().items())
    ]
    return desk.page("designs/ready.html", "designs", lines=lines)


@router.post("")
def take_ready_design(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    return desk.go(f"/designs/{take_ready(db, form.raw('key')[:80], at).id}")
