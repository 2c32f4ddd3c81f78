"""The page of one step, at the table: count, take back, unpick, recount, and what comes next."""

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import partial
from typing import Any

from fastapi import APIRouter, Depends
from fastapi.responses import Response
from sqlalchemy import bindparam, func
from sqlmodel import col, select

from service.errors import Conflict, NotFound, Unreadable
from service.languages import spoken
from service.languages.spoken import unit_now
from service.reckoning.asked import Wrong
from service.reckoning.gates import refusal
from service.reckoning.operations import operation_named
from service.reckoning.slips import Slip
from service.records.db import Reading, Writing
from service.records.queries.drawn import drawn_rows
from service.records.queries.log import entries_of_step, entry_with
from service.records.queries.standing import OPEN, is_seen_by
from service.records.tables import Cloth, Garment, Panel, Section, Step, Tally
from service.records.unchanged import kept_while_unchanged
from service.studio.hands import is_in_hands, whose_else
from service.studio.lines import Line, lines_of
from service.studio.log import KEY_USED, MOST_COUNTED, MOST_MINUTES, TallyAsk, add_tally, finish_step, take_back
from service.studio.moving import ONCE, place_of
from service.studio.next_step import held_up_by, may_begin, next_of_section, next_step_for, usually_first
from service.studio.plain_counts import add_shortly
from service.studio.recount import Recount, recount_section
from service.studio.sign_in import Person
from service.studio.slips import Counted, slip_at
from service.web.amount_words import counted, kept_amount
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.garment_lines import Written, written_as
from service.web.learning import learning_here, learning_of
from service.web.mark_words import facts_of_lines
from service.web.step_words import Work, drawn_section, facts_of, facts_of_block, quick_amounts, step_drawing, stitch_of

router = APIRouter(include_in_schema=False, prefix="/steps")
PRESSED_TWICE = "That was counted by your first press. Look at the figures, and count again only what was done since."
TO_THE_END = "end"
PAGES_KEPT = 40
RECOUNTED = "recounted"
AS_THINGS_STAND = "as things stand"
NOT_SEEN = "There is no such step among those you may see."
REASON_MISSING = "Write why you pass over the order of work."
NOTHING_TO_UNPICK = frozenset({"wash", "press", "trace", "retrace", "mark", "inspect"})
# Where on the page a fault of the use case's field is said, and one of no field.
COUNT_FIELDS = {"key": "", AS_THINGS_STAND: "counted"}
UNPICK_FIELDS = {"key": "", "counted": "unpicked", "minutes": "unpick_minutes", AS_THINGS_STAND: "unpicked"}
TAKE_BACK_FIELDS = {"key": "", AS_THINGS_STAND: ""}
RECOUNT_FIELDS = {"reason": "recount_reason", "left_over": "standing_threads", AS_THINGS_STAND: "standing_threads"}
# Prepared once: every count asks them.
_NEWEST = select(func.max(col(Tally.id))).where(col(Tally.step_id) == bindparam("step_id"))
_GARMENT_OF = select(Step.garment_id).where(col(Step.id) == bindparam("step_id"))


@dataclass(frozen=True, slots=True)
class Place:
    """A step with all that belongs to it, and its line among the garment's; `gate` says why nothing of it may be
    counted now, and is None when some may, or nothing is left.
    """

    step: Step
    garment: Garment
    panel: Panel | None
    section: Section | None
    lines: list[Line]
    at: int
    is_hers: bool
    gate: str | None = None

    @property
    def line(self) -> Line:
        """The step as it is reckoned with."""
        return self.lines[self.at]

    @property
    def work(self) -> Work:
        """The step and where it lies."""
        return Work(self.garment, self.step, self.panel, self.section)

    def refused(self, counted: float) -> str | None:
        """Why so much of it is out of order; None when it is not."""
        return _refused(self.lines, self.at, counted)

    @property
    def may_unpick(self) -> bool:
        """Whether anything is done of it that can be undone with a needle."""
        gone = operation_named(self.step.operation).cannot_be_undone
        return self.step.done_tenths > 0 and not gone and self.step.operation not in NOTHING_TO_UNPICK


@router.get("/{step_id}", dependencies=[Depends(learning_here)])
def show_step(desk: SignedInDesk, person: SignedIn, db: Reads, step_id: Id, said: str = "") -> Response:
    return _page(desk, person, db, step_id, Form(), says=_told(db, step_id, said))


@router.post("/{step_id}/count")
def count(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    check_seen(db, person, step_id)
    if form.raw("quick") not in {"", TO_THE_END}:
        form.values["counted"] = form.raw("quick")
    minutes = _minutes(form)
    if (slip := _slip(desk, person, db, form, step_id, at)) is not None:
        return _page(desk, person, db, step_id, form, status=422, says=slip)
    if person.is_owner and "overrule" in form.values and not form.raw("overrule").strip():
        _want_reason(form, place_at(db, person, step_id))
    if form.raw("quick") == TO_THE_END:
        return _acted(
            desk, person, form, db, step_id, lambda: finish_step(db, person, step_id, form.raw("key"), minutes, at)
        )
    ask = _ask(form, minutes, _amount(form, "counted", db, step_id, called="how much was done", above=True))
    return _acted(desk, person, form, db, step_id, lambda: add_shortly(db, person, step_id, ask, at))


@router.post("/{step_id}/unpick")
def unpick(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    place_at(db, person, step_id)
    counted = _amount(form, "unpicked", db, step_id, called="how much was unpicked", above=True)
    minutes = form.decimal("unpick_minutes", called="the minutes", most=MOST_MINUTES, needed=False)
    why = form.text("why", called="why it was unpicked", most=1000)
    ask = TallyAsk(form.raw("key"), counted or Decimal(0), "unpick", minutes, reason=why)
    return _acted(desk, person, form, db, step_id, lambda: add_tally(db, person, step_id, ask, at), UNPICK_FIELDS)


@router.post("/{step_id}/take-back")
def take_entry_back(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    place_at(db, person, step_id)
    tally_id = form.number_of("entry", called="the entry to take back")
    wrong = None if tally_id is None else db.get(Tally, tally_id)
    if wrong is None or wrong.step_id != step_id:
        form.fault("", "There is no such entry on this step to take back.")
    key = f"{form.raw('key')} {tally_id}"
    return _acted(
        desk, person, form, db, step_id, lambda: take_back(db, person, tally_id or 0, key, at), TAKE_BACK_FIELDS
    )


@router.post("/{step_id}/recount")
def recount(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    place = place_at(db, person, step_id)
    section_id = place.step.section_id
    if section_id is None:
        raise NotFound("Only the threads of a section can be counted again.")
    standing = form.whole("standing_threads", called="the standing threads", least=1, most=100_000, needed=False)
    withdrawn = form.whole("withdrawn_threads", called="the withdrawn threads", least=1, most=100_000, needed=False)
    why = form.text("recount_reason", called="why it was counted again", most=1000)
    counted = Recount(why, standing, withdrawn, accepted=form.ticked("accepted"))
    act = partial(recount_section, db, person, section_id, counted, at)
    return _acted(desk, person, form, db, step_id, act, RECOUNT_FIELDS)


def _minutes(form: Form) -> Decimal | None:
    return form.decimal("minutes", called="the minutes", most=MOST_MINUTES, needed=False)


def _slip(desk: Desk, person: Person, db: Any, form: Form, step_id: int, at: datetime) -> Slip | None:
    """What to ask about a count before it is kept; nothing when it was answered, or cannot be read anyhow."""
    typed = Form(form.values)
    minutes = _minutes(typed)
    amount = _amount(typed, "counted", db, step_id, called="how much was done", needed=False)
    if form.raw("quick") == TO_THE_END:
        step = db.get_one(Step, step_id)
        amount = Decimal(step.quantity_tenths - step.done_tenths) / 10
    if typed.wrong or form.ticked("sure") or minutes is None or amount is None:
        return None
    return slip_at(db, learning_of(desk.request).newest(db), person, Counted(step_id, amount, minutes), at)


def _want_reason(form: Form, place: Place) -> None:
    """The reason must be written where the owner was asked for it and left it out."""
    refused = _out_of_order(form, place)
    if refused is None:
        return
    if place.gate is None and form.raw("quick") != TO_THE_END:
        form.fault("counted", refused)
    form.fault("overrule", REASON_MISSING)


def _out_of_order(form: Form, place: Place) -> str | None:
    """Why what was typed may not be counted now, or why nothing may be."""
    left = place.step.quantity_tenths - place.step.done_tenths
    typed = _amount_of(Form(form.values), "counted", place.step.unit, called="", needed=False, above=True)
    counted = Decimal(left) / 10 if form.raw("quick") == TO_THE_END else typed
    return place.gate or (place.refused(float(counted)) if counted and left else None)


def _amount(form: Form, field: str, db: Any, step_id: int, **how: Any) -> Decimal | None:
    """An amount of a step's work as it is kept, typed in the unit in which it is shown."""
    return _amount_of(form, field, "" if unit_now() == "cm" else db.get_one(Step, step_id).unit, **how)


def _amount_of(form: Form, field: str, unit: str, **how: Any) -> Decimal | None:
    typed = form.decimal(field, most=MOST_COUNTED, **how)
    return None if typed is None else kept_amount(typed, unit)


def _ask(form: Form, minutes: Decimal | None, counted: Decimal | None) -> TallyAsk:
    return TallyAsk(
        key=form.raw("key"),
        counted=counted or Decimal(0),
        minutes=minutes,
        overrule=form.text("overrule", called="the reason", most=1000, needed=False),
        more_on_cloth=form.ticked("more_on_cloth"),
    )


def _acted(
    desk: Desk,
    person: Person,
    form: Form,
    db: Writing,
    step_id: int,
    act: Callable[[], object],
    fields: Mapping[str, str] = COUNT_FIELDS,
) -> Response:
    """Do it and go back to the page; what is refused is said at its field, and nothing of it is kept."""
    if not form.wrong:
        try:
            act()
        except Unreadable as refused:
            for field, sentence in refused.faults.items():
                form.fault(fields.get(field, field), sentence)
        except Wrong as wrong:
            form.fault(fields.get(wrong.field, wrong.field), f"The number {wrong.sentence}.")
        except Conflict as refused:
            form.fault(fields[AS_THINGS_STAND], PRESSED_TWICE if refused.sentence == KEY_USED else refused.sentence)
        else:
            return desk.go(
                f"/steps/{step_id}?said={_newest(db, step_id) if fields is not RECOUNT_FIELDS else RECOUNTED}"
            )
    db.rollback()
    return _page(desk, person, db, step_id, form, status=422)


def _newest(db: Writing, step_id: int) -> int | str:
    return db.connection().execute(_NEWEST, {"step_id": step_id}).scalar() or ""


def check_seen(db: Reading | Writing, person: Person, step_id: int) -> None:
    """Refuse a step that is unknown, or unknown to a stitcher who holds nothing of the garment."""
    if not _is_seen(db, person, db.connection().execute(_GARMENT_OF, {"step_id": step_id}).scalar()):
        raise NotFound(NOT_SEEN)


def _is_seen(db: Reading | Writing, person: Person, garment_id: int | None) -> bool:
    return garment_id is not None and (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id))


def place_at(db: Reading | Writing, person: Person, step_id: int) -> Place:
    """The step with all that belongs to it, refused as `check_seen` does."""
    step = db.get(Step, step_id)
    if step is None or not _is_seen(db, person, step.garment_id):
        raise NotFound(NOT_SEEN)
    garment = db.get_one(Garment, step.garment_id)
    lines = lines_of(db, step.garment_id)
    at = place_of(lines, step)
    return Place(
        step=step,
        garment=garment,
        panel=None if step.panel_id is None else db.get_one(Panel, step.panel_id),
        section=None if step.section_id is None else db.get_one(Section, step.section_id),
        lines=lines,
        at=at,
        is_hers=person.is_owner or is_in_hands(db, person, garment, step.panel_id),
        gate=_refused(lines, at, lines[at].least) if lines[at].done_tenths < lines[at].quantity_tenths else None,
    )


def _refused(lines: Sequence[Line], at: int, counted: float) -> str | None:
    return refusal([line.state for line in lines], at, counted)


@kept_while_unchanged(PAGES_KEPT)
def shown_of(
    db: Reading | Writing, person: Person, step_id: int, length_unit: str, _written: Written
) -> tuple[Place, dict[str, Any]]:
    """The step, and what its page shows of it by the records alone, in this unit, language and manner."""
    place = place_at(db, person, step_id)
    step, section, garment = place.step, place.section, place.garment
    drawn = None if section is None else drawn_section(garment.document, section.key)
    return place, {
        "step": step,
        "section": section,
        "garment": garment,
        "name": place.line.state.section or place.line.state.panel or garment.name,
        "facts": [*facts_of(place.work), *facts_of_lines(db, person, place.work)],
        "block_to_cut": _block_to_cut(db, place, length_unit),
        "cautions": () if drawn is None else tuple(map(spoken.Typed, drawn.cautions)),
        "may_unpick": place.may_unpick,
        "cannot_be_undone": operation_named(step.operation).cannot_be_undone,
        "is_open": garment.state in OPEN,
        "holder": whose_else(db, person, garment, step.panel_id),
        "once": step.unit in ONCE,
        "quick": quick_amounts(place.work),
        "left_tenths": step.quantity_tenths - step.done_tenths,
        "drawing": step_drawing(place.work, drawn_rows(db, [step.garment_id])[step.garment_id]),
        "stitch": stitch_of(place.work),
        "entries": entries_of_step(db, step_id),
        "following": following_from(db, person, place),
        "usual": None if place.gate else usually_first(place.lines, place.at),
    }


def _page(
    desk: Desk,
    person: Person,
    db: Any,
    step_id: int,
    form: Form,
    *,
    status: int = 200,
    says: str | Slip = "",
) -> Response:
    assert desk.studio
    place, shown = shown_of(db, person, step_id, desk.studio.length_unit, written_as())
    asks_for_more = "counted" in form.errors and _is_past(form, place.step)
    out_of_order = _out_of_order(form, place) is not None
    return desk.page(
        "garments/step.html",
        "table",
        status=status,
        block="step",
        form=form,
        place=place,
        asks_for_more=asks_for_more,
        may_overrule=person.is_owner and out_of_order and not asks_for_more,
        key=secrets.token_urlsafe(18),
        told="" if isinstance(says, Slip) else says,
        slip=says if isinstance(says, Slip) else None,
        **shown,
    )


def _block_to_cut(db: Any, place: Place, length_unit: str) -> list[tuple[str, str]]:
    """What to cut and from which cloth, for the step that cuts a block off."""
    if place.step.operation != "cut_block" or place.panel is None:
        return []
    cloth = db.get_one(Cloth, place.panel.cloth_id)
    return facts_of_block(place.panel, cloth, length_unit)


def following_from(db: Any, person: Person, place: Place) -> Line | None:
    """What to go to from here: the step that holds this one up, else the next of its section, else any other."""
    if (held := held_up_by(place.lines, place.at)) is not None:
        return held
    leads_to = next_of_section(place.lines, place.at)
    is_done = place.line.done_tenths >= place.line.quantity_tenths
    if leads_to is not None and (not is_done or may_begin(place.lines, place.lines.index(leads_to))):
        return leads_to
    found = next_step_for(db, person, place.garment, place.lines, place.step.id)
    return None if found is None or found.id == place.step.id else found


def _is_past(form: Form, step: Step) -> bool:
    """Whether what was typed is more than is left, of something the cloth may have more of."""
    counted = _amount_of(Form(form.values), "counted", step.unit, called="", above=True)
    return counted is not None and counted * 10 > step.quantity_tenths - step.done_tenths and step.unit not in ONCE


def _told(db: Reading, step_id: int, said: str) -> str:
    """What was done just now, in a sentence: the entry of that number."""
    if said == RECOUNTED:
        return "Counted again: what is left follows the new count."
    entry = entry_with(db, int(said)) if said.isascii() and said.isdigit() and len(said) < 10 else None
    if entry is None or entry.step_id != step_id:
        return ""
    amount = counted(entry.counted_tenths, entry.unit)
    return {"work": f"Counted: {amount}.", "counter": f"Taken back: {amount}.", "unpick": f"Unpicked: {amount}."}[
        entry.kind
    ]
