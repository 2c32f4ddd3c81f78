"""The reckoner: what a maker works out before she touches the cloth. Every answer is an address that can be kept."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.asked import Wrong
from service.web import manner
from service.web.deps import Desk, SignedInDesk
from service.web.forms import Form

router = APIRouter(include_in_schema=False, prefix="/reckoner")


@dataclass(frozen=True, slots=True)
class Question:
    """One page of the reckoner: what it answers, and what it needs to be told."""

    href: str
    words: str
    needs: str
    is_the_owners: bool = False


QUESTIONS = (
    Question(
        "/reckoner/count",
        "How many threads does this cloth count?",
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
    Question(
        "/reckoner/tucks",
        "How wide is the block cut for these tucks?",
        "How many, how deep, the count along the folds, and the width the panel finishes at.",
    ),
    Question(
        "/reckoner/growth",
        "Which tucks let the skirt down later?",
        "How far it is to be let down, how deep a tuck may be, and where the lowest lies.",
    ),
    Question(
        "/reckoner/bias",
        "How much cloth does this binding take?",
        "The width it finishes at, the length of the edge, and the width of the cloth.",
    ),
    Question(
        "/reckoner/cloth",
        "How much cloth is to be bought?",
        "The blocks with their sizes, the width of the cloth, and how much it shrinks.",
    ),
    Question(
        "/reckoner/fit",
        "How large will the child be on the day?",
        "Girl or boy, the day of birth, the day it is worn, and a reading if there is one.",
    ),
    Question(
        "/reckoner/hours",
        "How long will it take?",
        "The work and how much of it, the count of the cloth, and who does it.",
    ),
    Question(
        "/reckoner/promise",
        "What could I promise for this sum by that day?",
        "The sum, the day, and a design if one is wished for.",
        is_the_owners=True,
    ),
    Question(
        "/reckoner/thread",
        "How much working thread does it take?",
        "What is worked and how much of it, and the length of a skein.",
    ),
    Question(
        "/reckoner/yarn",
        "How dense and how heavy is this cloth?",
        "Its counts with the number of its yarns, or its weight.",
    ),
)


@router.get("")
def show_reckoner(desk: SignedInDesk) -> Response:
    is_owner = desk.person is not None and desk.person.is_owner
    questions = [each for each in QUESTIONS if is_owner or not each.is_the_owners]
    return desk.page("reckoner/index.html", "reckoner", questions=questions)


def asked(desk: Desk, usual: Mapping[str, str]) -> Form:
    """The question as the page's address asks it, with what is usual where nothing was said."""
    return filled_in(usual, desk.request.query_params)


def filled_in(usual: Mapping[str, str], said: Mapping[str, str]) -> Form:
    """A form of what was said, filled up with what is usual, written as it would have been typed."""
    form = Form({**{name: manner.typed(value) for name, value in usual.items()}, **said})
    form.is_typed = True
    return form


def put(form: Form, wrong: Wrong, fields: Mapping[str, str]) -> None:
    """Put what the reckoning refuses at the field it was typed in; `fields` gives the form's name for its own."""
    form.fault(fields.get(wrong.field, wrong.field), f"This {wrong.sentence}.")
