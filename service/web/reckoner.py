"""The reckoner: what a maker works out before she touches the cloth. Every answer is an address that can be kept."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from service.web.deps import SignedInDesk

router = APIRouter(include_in_schema=False, prefix="/reckoner")


@dataclass(frozen=True, slots=True)
class Question:
    """One page of the reckoner: what it answers, and what it needs to be told."""

    href: str
    words: str
    needs: str


QUESTIONS = (
    Question(
        "/reckoner/count",
        "How many threads has this cloth to the cm?",
        "Threads counted at a few places, over any length.",
    ),
    Question(
        "/reckoner/convert",
        "How many threads is that on another cloth?",
        "Threads or a width, and the counts of both cloths.",
    ),
    Question(
        "/reckoner/band",
        "Will the bundles come out even?",
        "The two counts of the cloth, and how deep and how long the band is to be.",
    ),
)


@router.get("")
def show_reckoner(desk: SignedInDesk) -> Response:
    return desk.page("reckoner/index.html", "reckoner", questions=QUESTIONS)
