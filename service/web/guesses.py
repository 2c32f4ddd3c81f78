"""The page of guesses: how long one unit of each operation takes, as the owner guesses it, beside what the log says."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.guesses import MOST_GUESS_SECONDS
from service.reckoning.operations import GUESS_THREADS_PER_CM, OPERATIONS, Operation
from service.reckoning.paces import Range, pace_range
from service.reckoning.rates import Pace
from service.records.db import Reading, Writing
from service.studio.guesses import own_guesses, set_guesses, starting_ms
from service.web.amount_words import kept_of_one
from service.web.deps import Desk, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.learning import learning_of
from service.web.words import operation as named

router = APIRouter(include_in_schema=False, prefix="/settings/guesses")
LEAST_GUESS_SECONDS = 0.1


@dataclass(frozen=True, slots=True)
class Guessed:
    """One operation: its starting guess, whether the owner set another, and what the log says on a cloth of 20."""

    operation: Operation
    starting: str
    is_own: bool
    days: int
    logged: Range | None

    @property
    def field(self) -> str:
        """Where its guess is typed."""
        return _field(self.operation.name)


@router.get("")
def show_guesses(desk: OwnerDesk, db: Reads) -> Response:
    own = own_guesses(db)
    return _page(desk, db, Form({_field(name): _typed(own.get(name, starting_ms(name)), name) for name in OPERATIONS}))


@router.post("")
def change_guesses(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner) -> Response:
    back = form.raw("back")
    if back:
        form.choice("back", OPERATIONS, called="one of the operations")
    said = {back: None} if back else {name: _read(form, name) for name in OPERATIONS if _field(name) in form.values}
    if form.wrong:
        return _page(desk, db, form, 422)
    set_guesses(db, said, owner.id, at)
    return desk.go(f"/settings/guesses#{_field(back)}" if back else "/settings/guesses?kept=yes")


def _read(form: Form, name: str) -> int | None:
    """The milliseconds typed for an operation; None where it was left empty or typed as it starts."""
    called = f"the seconds for: {named(name)}"
    each = kept_of_one(OPERATIONS[name].unit)
    least, most = LEAST_GUESS_SECONDS * float(each), MOST_GUESS_SECONDS * float(each)
    seconds = form.decimal(_field(name), called=called, least=least, most=most, needed=False)
    if seconds is None:
        return None
    typed = round(seconds / each * 1000)
    return None if typed == starting_ms(name) else typed


def _page(desk: Desk, db: Reading | Writing, form: Form, status: int = 200) -> Response:
    learned = learning_of(desk.request).exact(db)
    own = own_guesses(db)
    days = Counter(block.pace.operation for block in learned.fit.blocks)
    lines = [
        Guessed(
            operation,
            _typed(starting_ms(name), name),
            name in own,
            days[name],
            pace_range(learned.fit, Pace("", name, GUESS_THREADS_PER_CM)) if days[name] else None,
        )
        for name, operation in OPERATIONS.items()
    ]
    return desk.page(
        "settings/guesses.html",
        "settings",
        status=status,
        form=form,
        lines=lines,
        mostly_guesses=learned.mostly_guesses,
        notice="The guesses are kept. What is left of open pieces is timed by them." if _is_kept(desk) else "",
    )


def _is_kept(desk: Desk) -> bool:
    return "kept" in desk.request.query_params


def _field(name: str) -> str:
    return f"seconds_{name}"


def _typed(milliseconds: int, name: str) -> str:
    return f"{(Decimal(milliseconds) / 1000 * kept_of_one(OPERATIONS[name].unit)).normalize():f}"
