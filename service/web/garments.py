"""The page of one garment: what is done and left of it, in whose hands, its cloths, its log, its states."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends
from fastapi.responses import Response
from sqlalchemy import bindparam, func, select
from sqlmodel import col

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.designs import ClothCounts
from service.reckoning.findings import Finding
from service.records.db import Reading, Writing
from service.records.queries.drawn import drawn_rows
from service.records.queries.garments import Parts, parts_of
from service.records.queries.kept import kept_of
from service.records.queries.log import Change, Entry, changes_of_garment, entries_of_garment
from service.records.queries.standing import is_seen_by, one_garment
from service.records.tables import Cloth, ClothUse, Garment, Panel, Section, Step
from service.studio import standing
from service.studio.cloth import counts_have_moved, counts_of_cloths
from service.studio.left import LeftBy, left_by
from service.studio.next_step import next_step_among
from service.studio.sign_in import Person
from service.web.deps import Beyond, Desk, Id, Now, Owner, OwnerDesk, Reads, SignedIn, SignedInDesk, Writes
from service.web.drawn import large_drawing
from service.web.foreseeing import foresight_of, plan_here, road_of
from service.web.forms import Form, Typed
from service.web.garment_lines import log_line, steps_in_order
from service.web.handing_over import handed_over
from service.web.learning import learning_here, learning_of
from service.web.reckoner_keeping import WORDS

router = APIRouter(include_in_schema=False, prefix="/garments")


@dataclass(frozen=True, slots=True)
class PartLines:
    """A section, or a panel's own steps before or after its sections, and the time left of them."""

    steps: tuple[Step, ...]
    left_ms: int
    section: Section | None = None


@dataclass(frozen=True, slots=True)
class PanelLines:
    """A panel: its own steps before and after its sections, and the sections; `left_ms` is of all together."""

    panel: Panel
    before: PartLines
    sections: tuple[PartLines, ...]
    after: PartLines
    left_ms: int


@dataclass(frozen=True, slots=True)
class ClothUsed:
    """A cloth of the garment: the panels cut from it, and how much was cut so far."""

    cloth: Cloth
    panels: tuple[str, ...]
    cut_um: int


@router.get("/{garment_id}", dependencies=[Depends(learning_here), Depends(plan_here)])
def show_garment(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id, before: Beyond = None) -> Response:
    return _page(desk, person, db, garment_id, Form(), before)


@router.post("/{garment_id}/call-off")
def call_garment_off(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    why = form.text("reason", called="the reason", most=1000)
    return _acted(desk, owner, form, db, garment_id, lambda: standing.call_off(db, garment_id, why, owner.id, at))


@router.post("/{garment_id}/take-up")
def take_garment_up(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    why = form.text("reason", called="the reason", most=1000)
    return _acted(desk, owner, form, db, garment_id, lambda: standing.reopen(db, garment_id, why, owner.id, at))


def _acted(desk: Desk, person: Person, form: Form, db: Writing, garment_id: int, act: Callable[[], object]) -> Response:
    """Do it and go back to the page; what is refused is said on the page, and nothing of it is kept."""
    if not form.wrong:
        try:
            act()
        except Unreadable as refused:
            for field, sentence in refused.faults.items():
                form.fault(field, sentence)
        except Conflict as refused:
            form.fault("", refused.sentence)
        else:
            seen = person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)
            return desk.go(f"/garments/{garment_id}" if seen else "/")
    db.rollback()
    return _page(desk, person, db, garment_id, form, None, 422)


def _seen(db: Reading | Writing, person: Person, garment_id: int) -> Garment:
    """The garment; refused when it is unknown, or to a stitcher when nothing of it is in her hands."""
    garment = db.get(Garment, garment_id)
    if garment is None or not (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)):
        raise NotFound("There is no such garment among those you may see.")
    return garment


def _page(
    desk: Desk, person: Person, db: Any, garment_id: int, form: Form, before: int | None, status: int = 200
) -> Response:
    garment = _seen(db, person, garment_id)
    piece, parts = one_garment(db, garment_id), parts_of(db, garment_id)
    assert piece is not None
    learning = learning_of(desk.request)
    entries, more = entries_of_garment(db, garment_id, before)
    further = entries[-1].id if more else None
    changes = changes_of_garment(db, garment_id, further, before)
    following = next_step_among(parts, person, garment) if piece.state in {"planned", "in work"} else None
    plan = foresight_of(desk.request).newest(db, desk.today)
    left = left_by(parts)
    hand = next((step.section_id for step in parts.steps if following and step.id == following.id), None)
    return desk.page(
        "garments/garment.html",
        "table",
        status=status,
        form=form,
        garment=garment,
        piece=piece,
        likely=learning.hours_left(db, [garment_id])[garment_id],
        mostly_guesses=learning.newest(db).mostly_guesses,
        foreseen=plan.days_of(garment_id),
        road=road_of(plan, garment_id),
        panels=[_panel_lines(panel, parts, left) for panel in parts.panels],
        joined=[_section_lines(section, parts, left) for section in parts.joined_sections],
        joined_ms=left.joined.left_ms,
        holders=parts.holders,
        following=following,
        drawing=large_drawing(drawn_rows(db, [garment_id])[garment_id], garment.name, hand),
        cloths=_cloths_used(db, garment_id, parts.panels),
        findings=_findings(db, parts.panels) if piece.state in {"planned", "in work"} else (),
        days=_by_day([*entries, *changes], desk),
        further=further,
        log_line=log_line,
        steps_in_order=steps_in_order,
        later=before is not None,
        kept=kept_of(db, garment_id),
        questions=WORDS,
        today=desk.today,
        **handed_over(db, person, garment, parts.panels),
    )


def _panel_lines(panel: Panel, parts: Parts, left: LeftBy) -> PanelLines:
    assert panel.id is not None
    own, sections = parts.own_steps(panel), parts.sections_on(panel)
    first = min((step.position for section in sections for step in parts.steps_of(section)), default=0)
    before = [step for step in own if step.position < first or not sections]
    after = [step for step in own if step not in before]
    lines = tuple(_section_lines(section, parts, left) for section in sections)
    return PanelLines(panel, _own(before, left), lines, _own(after, left), left.panels[panel.id].left_ms)


def _own(steps: Iterable[Step], left: LeftBy) -> PartLines:
    steps = tuple(steps)
    return PartLines(steps, sum(left.steps[step.id].left_ms for step in steps if step.id is not None))


def _section_lines(section: Section, parts: Parts, left: LeftBy) -> PartLines:
    assert section.id is not None
    steps = tuple(parts.steps_of(section))
    return PartLines(steps, left.sections[section.id].left_ms if steps else 0, section)


def _cloths_used(db: Reading, garment_id: int, panels: Iterable[Panel]) -> list[ClothUsed]:
    names: dict[int, list[str]] = {}
    for panel in panels:
        names.setdefault(panel.cloth_id, []).append(panel.name)
    cloths = db.execute(_used_cloths(), {"garment_id": garment_id})
    return [ClothUsed(it, tuple(names.get(it.id or 0, ())), -(change_um or 0)) for it, change_um in cloths]


@cache
def _used_cloths() -> Any:
    """The cloths of a garment's panels and those cut for it, with what that changed of each."""
    number: Any = bindparam("garment_id")
    used = select(col(ClothUse.cloth_id)).where(col(ClothUse.garment_id) == number)
    of_panels = select(col(Panel.cloth_id)).where(col(Panel.garment_id) == number)
    change = select(func.sum(col(ClothUse.change_um))).where(
        col(ClothUse.garment_id) == number, col(ClothUse.cloth_id) == Cloth.id
    )
    among = col(Cloth.id).in_(of_panels.union(used))
    return select(Cloth, change.correlate(Cloth).scalar_subquery()).where(among).order_by(col(Cloth.name))


def _findings(db: Reading, panels: Iterable[Panel]) -> tuple[Finding, ...]:
    """Whether the cloths count otherwise now than when this was planned."""
    planned = {(panel.cloth_id, panel.warp_per_cm, panel.weft_per_cm) for panel in panels}
    now = counts_of_cloths(db, {cloth for cloth, _, _ in planned})
    found = (counts_have_moved(ClothCounts(warp, weft), now[cloth]) for cloth, warp, weft in planned)
    return tuple(dict.fromkeys(finding for finding in found if finding is not None))


def _by_day(lines: list[Entry | Change], desk: Desk) -> list[tuple[date, list[Entry | Change]]]:
    """The lines of the log by the day on which they came in, where the studio is; the newest first."""
    assert desk.studio is not None
    zone = ZoneInfo(desk.studio.time_zone)

    def day(line: Entry | Change) -> date:
        moment: datetime = line.recorded_at.astimezone(zone)
        return moment.date()

    newest_first = sorted(lines, key=lambda line: line.recorded_at, reverse=True)
    return [(when, list(those)) for when, those in groupby(newest_first, day)]
