"""The thread of one garment: what is reckoned of each, what was really used, and what the studio learns from it."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict, NotFound
from service.reckoning.asked import Wrong
from service.reckoning.thread import used_ratio
from service.records.db import Reading, Writing
from service.records.tables import Studio, ThreadUsed
from service.studio.sign_in import Person
from service.studio.thread_used import (
    Learned,
    ThreadReckoned,
    learned_by_thread,
    learned_of,
    take_back_used,
    tell_used,
    threads_reckoned,
    told_of,
)
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.reckoner import put
from service.web.reckoner_making import LONG_UNIT, Source, source_of
from service.web.words import cloth_length, day_at_home

router = APIRouter(include_in_schema=False, prefix="/garments")


@dataclass(frozen=True, slots=True)
class ThreadLine:
    """One thread as the page shows it; `at` numbers its field."""

    at: int
    reckoned: ThreadReckoned
    told: ThreadUsed | None
    learned: Learned | None

    @property
    def corrected_um(self) -> float:
        """What the whole garment takes, by what is learned."""
        return self.reckoned.whole_um * (self.learned.ratio if self.learned else 1.0)

    @property
    def known(self) -> str:
        """Whether all its work is reckoned by what was learned, and from how much, or by guesses."""
        if self.learned is None:
            return "stitches and guesses, not measured yet"
        of = "of this thread" if self.learned.is_of_thread else "of other threads"
        number = "1 garment" if self.learned.garments == 1 else f"{self.learned.garments} garments"
        return f"learned from {number} {of}: {100 * self.learned.ratio:.0f} % of what is reckoned"

    def hint(self, studio: Studio) -> str:
        """What the reckoner says of the work that is done, and what was said of it before."""
        unit = studio.length_unit
        now = cloth_length(self.reckoned.done_um, unit)
        if self.told is None or self.told.used_um is None:
            return f"Reckoned for what is done, uncorrected: {now}."
        used, then = (cloth_length(um, unit) for um in (self.told.used_um, self.told.reckoned_um))
        return (
            f"Reckoned for what is done, uncorrected: {now}. Before: {used} on "
            f"{day_at_home(self.told.at, studio.time_zone)}, when {then} was reckoned. A new figure takes its place."
        )


@router.get("/{garment_id}/thread")
def show_thread(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    return _page(desk, db, _source(desk, person, db, garment_id), Form({}))


@router.post("/{garment_id}/thread")
def tell_thread(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    source = _source(desk, person, db, garment_id)
    told = _told(form, desk, source)
    if form.wrong:
        return _page(desk, db, source, form, 422)
    for reckoned, used_um in told:
        tell_used(db, garment_id, reckoned, used_um, person.id, at)
    return desk.go(f"/garments/{garment_id}/thread")


@router.post("/{garment_id}/thread/take-back")
def take_back_thread(
    desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id
) -> Response:
    _source(desk, person, db, garment_id)
    take_back_used(db, garment_id, form.raw("thread"), person.id, at)
    return desk.go(f"/garments/{garment_id}/thread")


def _source(desk: Desk, person: Person, db: Reading | Writing, garment_id: int) -> Source:
    assert desk.studio
    source = source_of(db, person, str(garment_id), desk.studio)
    if source is None:
        raise NotFound("There is no such garment.")
    return source


def _told(form: Form, desk: Desk, source: Source) -> list[tuple[ThreadReckoned, int]]:
    """What was typed of each thread; a fault at the field of what cannot be right."""
    assert desk.studio
    told = []
    for at, reckoned in enumerate(_threads(source), 1):
        field = f"used-{at}"
        thread = reckoned.thread
        called = f"what was used of {thread}" if thread else "what was used of it"
        used_um = form.length_um(field, LONG_UNIT[desk.studio.length_unit], called=called, needed=False)
        if used_um is None:
            continue
        if form.raw(f"thread-{at}") != reckoned.thread:
            raise Conflict("The garment's threads have changed meanwhile: look at the page again.")
        try:
            used_ratio((reckoned.done_um or used_um) / 1000, used_um / 1000)
        except Wrong as wrong:
            put(form, wrong, {"used_mm": field})
        told.append((reckoned, used_um))
    return told


def _threads(source: Source) -> list[ThreadReckoned]:
    return threads_reckoned(source.parts, source.drawn)


def _page(desk: Desk, db: Reading | Writing, source: Source, form: Form, status: int = 200) -> Response:
    assert desk.studio
    assert source.garment.id is not None
    told, known = told_of(db, source.garment.id), learned_by_thread(db)
    lines = [
        ThreadLine(at, reckoned, told.get(reckoned.thread), learned_of(known, reckoned.thread))
        for at, reckoned in enumerate(_threads(source), 1)
    ]
    return desk.page(
        "garments/thread.html",
        "table",
        status=status,
        form=form,
        garment=source.garment,
        lines=lines,
        long_unit=LONG_UNIT[desk.studio.length_unit],
    )
