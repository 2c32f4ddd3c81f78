"""What a garment's page tells by the records alone, written once for as long as nothing at all is written."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from itertools import groupby
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from markupsafe import Markup
from sqlalchemy import bindparam, func, select
from sqlmodel import col

from service.errors import NotFound
from service.reckoning.designs import ClothCounts
from service.reckoning.findings import Finding
from service.records.db import Reading, Writing
from service.records.queries.drawn import drawn_of
from service.records.queries.garments import Parts, parts_of
from service.records.queries.kept import kept_of
from service.records.queries.log import Change, Entry, changes_of_garment, entries_of_garment
from service.records.queries.standing import OPEN, is_seen_by
from service.records.tables import Cloth, ClothUse, Commission, Garment, Panel, Section, Step
from service.records.unchanged import kept_while_unchanged
from service.studio.cloth import counts_have_moved, counts_of_cloths
from service.studio.left import LeftBy, left_by
from service.studio.lines import Line
from service.studio.next_step import next_step_among
from service.studio.sign_in import Person
from service.web.drawn import large_drawing
from service.web.garment_lines import Written, log_line, steps_in_order
from service.web.handing_over import handed_over
from service.web.reckoner_keeping import WORDS
from service.web.render import render

PAGES_KEPT = 40  # some 60 kB each
_OF_GARMENT = ("id", "name", "size", "state", "wanted_on", "planned_ms", "left_ms", "commission_id")


class Asked(NamedTuple):
    """Which page, from which entry of its log on, and how it is written: clock, unit, language and manner."""

    garment_id: int
    before: int | None
    time_zone: str
    length_unit: str
    written: Written


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


@dataclass(frozen=True, slots=True)
class Piece:
    """The garment itself, and what it is made for."""

    id: int
    name: str
    size: str
    state: str
    wanted_on: date
    planned_ms: int
    left_ms: int
    commission_id: int
    commission: str

    @property
    def done_fraction(self) -> float:
        """How much of the planned time is done, from 0 to 1."""
        return 1 - self.left_ms / self.planned_ms if self.planned_ms else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """Where the garment stands, the step that comes next for whoever asks, what is odd and who hands it over; and
    written already: all from the drawing down to the log.
    """

    piece: Piece
    following: Line | None
    findings: tuple[Finding, ...]
    between: dict[str, Any]
    body: Markup


@kept_while_unchanged(PAGES_KEPT)
def told_of(db: Reading | Writing, person: Person, asked: Asked) -> Told:
    """What this person is told of the garment; refused when she may not see it."""
    garment, commission = _seen(db, person, asked.garment_id)
    parts = parts_of(db, asked.garment_id)
    piece = Piece(commission=commission, **{name: getattr(garment, name) for name in _OF_GARMENT})
    is_open = piece.state in OPEN
    following = next_step_among(parts, person, garment) if is_open else None
    between = handed_over(Reading(db), person, garment, parts.panels)
    return Told(
        piece,
        following,
        _findings(Reading(db), parts.panels) if is_open else (),
        {name: between[name] for name in ("open_counts", "offers")},
        _body(Reading(db), parts, asked, following, {"garment": piece, "studio": asked, **between}),
    )


def _seen(db: Reading | Writing, person: Person, garment_id: int) -> tuple[Garment, str]:
    """The garment and the title of its commission; refused when it is unknown, or to a stitcher when nothing of it is
    in her hands.
    """
    found = db.execute(_with_commission(), {"garment_id": garment_id}).one_or_none()
    if found is None or not (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)):
        raise NotFound("There is no such garment among those you may see.")
    return found[0], found[1]


@cache
def _with_commission() -> Any:
    found = select(Garment, col(Commission.title)).join(Commission, col(Garment.commission_id) == Commission.id)
    return found.where(col(Garment.id) == bindparam("garment_id"))


def _body(db: Reading, parts: Parts, asked: Asked, following: Line | None, said: dict[str, Any]) -> Markup:
    """The garment drawn, what is left of each part, its cloths and its log."""
    number, left = asked.garment_id, left_by(parts)
    entries, more = entries_of_garment(db, number, asked.before)
    further = entries[-1].id if more else None
    changes = changes_of_garment(db, number, further, asked.before)
    hand = next((step.section_id for step in parts.steps if following and step.id == following.id), None)
    said |= {
        "drawing": large_drawing(drawn_of(parts), said["garment"].name, hand),
        "panels": [_panel_lines(panel, parts, left) for panel in parts.panels],
        "joined": [_section_lines(section, parts, left) for section in parts.joined_sections],
        "joined_ms": left.joined.left_ms,
        "holders": parts.holders,
        "cloths": _cloths_used(db, number, parts.panels),
        "days": _by_day([*entries, *changes], ZoneInfo(asked.time_zone)),
        "further": further,
        "later": asked.before is not None,
        "log_line": log_line,
        "steps_in_order": steps_in_order,
        "kept": kept_of(db, number),
        "questions": WORDS,
    }
    return Markup(render("garments/garment_body.html", said))  # noqa: S704 (a template of our own, all escaped)


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


def _by_day(lines: list[Entry | Change], zone: ZoneInfo) -> list[tuple[date, list[Entry | Change]]]:
    """The lines of the log by the day on which they came in, where the studio is; the newest first."""

    def day(line: Entry | Change) -> date:
        moment: datetime = line.recorded_at.astimezone(zone)
        return moment.date()

    newest_first = sorted(lines, key=lambda line: line.recorded_at, reverse=True)
    return [(when, list(those)) for when, those in groupby(newest_first, day)]
