"""The way from an empty studio to its first tally, shown on the work table: one next thing to do at a time."""

from dataclasses import dataclass

from fastapi import Request

from service.records.db import Reading
from service.records.queries.first_steps import FirstThings, first_things, is_begun
from service.studio.sign_in import Person


@dataclass(frozen=True, slots=True)
class FirstStep:
    """One thing to do on the way: what it is for, and while it is the next one, where it is done.

    With `posts` it is done by sending, not by opening a page.
    """

    words: str
    why: str
    done: bool
    href: str = ""
    action: str = ""
    posts: bool = False


@dataclass(frozen=True, slots=True)
class FirstWay:
    """All things to do, and the next of them."""

    steps: tuple[FirstStep, ...]
    next: FirstStep


def first_way(request: Request, db: Reading, person: Person) -> FirstWay | None:
    """The way of the owner until the first tally is written; afterwards, and for anybody else, there is none."""
    if not person.is_owner or getattr(request.app.state, "begun", False):
        return None
    if is_begun(db):
        request.app.state.begun = True
        return None
    steps = steps_of(first_things(db))
    return FirstWay(steps, next((step for step in steps if not step.done), steps[-1]))


def steps_of(first: FirstThings) -> tuple[FirstStep, ...]:
    """What there is to do, in its order, from what there is already."""
    return (
        FirstStep(
            "Measure a cloth",
            "Every band is planned on threads counted on the cloth itself.",
            first.counted_cloth_id is not None,
            "/first-run/cloth" if first.cloth_id is None else f"/cloth/{first.cloth_id}/count",
            "Measure your first cloth" if first.cloth_id is None else "Count its threads, warp and weft",
        ),
        FirstStep(
            "Pick a design, or draw one up",
            "Eight are ready to be made as they are; your own is drawn up from one panel on.",
            first.design_id is not None,
            "/designs/ready",
            "Choose the first design",
        ),
        FirstStep(
            "Write down who it is for, and for which day",
            "A piece for yourself counts too: you are the client then.",
            first.commission_id is not None,
            "/clients/new" if first.client_id is None else "/commissions/new",
            "Write down the client" if first.client_id is None else "Write down what she asks for",
        ),
        FirstStep(
            "Make it on the cloth",
            "The design is carried over to your cloth: threads, bundles, what is left over and what can be done.",
            first.garment_id is not None,
            f"/commissions/{first.commission_id}/make",
            "Lay the design on the cloth",
        ),
        _price(first),
        FirstStep(
            "Write the first tally",
            "Do a little of the first step, then write down how much, and the minutes it took.",
            done=False,
            href=f"/steps/{first.step_id}" if first.step_id else f"/garments/{first.garment_id}",
            action="Open the first step",
        ),
    )


def _price(first: FirstThings) -> FirstStep:
    is_charged = first.charges_id is not None
    return FirstStep(
        "See hours and a price",
        "The quote says how long it takes, what it costs, and what it costs not to know.",
        first.quote_id is not None,
        f"/commissions/{first.commission_id}/quotes" if is_charged else f"/settings/charges?for={first.commission_id}",
        "Reckon the first quote" if is_charged else "Say what an hour costs",
        posts=is_charged,
    )
