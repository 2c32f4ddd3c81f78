"""A studio of many garments for measuring: 8 sections each, 5 steps a section, 100 tallies a garment.

One garment is planned and worked in memory by the same functions as any other, at some places of its progress;
the rest are copies of these, written in bulk. Every statement of `check` holds on it.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import insert, text
from sqlmodel import SQLModel

from service.reckoning.carry import plan_garment
from service.reckoning.design_writing import write_design
from service.reckoning.designs import ClothCounts, ClothDesign, Design, PanelDesign, Placement, SectionDesign
from service.reckoning.gates import StepState
from service.reckoning.plans import GarmentPlan
from service.records import tables
from service.records.db import Database, Writing
from service.studio.demo_records import Stock
from service.studio.lines import Line
from service.studio.making import Drafted, panel_row, section_row, step_row
from service.studio.standing import Summary, start_by, summary_of, usual_minutes

SECTIONS = 8
TALLIES = 100
BATCH = 250
CLIENTS_EACH = 7  # garments a client
COUNTS = ClothCounts(20, 19)
OPEN_EVERY = 5  # one garment in so many is still in work, if no other is asked for
REACHED = (0.15, 0.4, 0.62, 0.9)  # how many of the steps are done of one that is in work


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one kind of garment is: counts by place in the order of work, its sums and summary."""

    counts: tuple[tuple[int, int], ...]
    done: tuple[int, ...]
    summary: Summary


@dataclass(frozen=True, slots=True)
class Pattern:
    """What every garment of the studio is a copy of, as column values."""

    document: str
    panel: dict[str, Any]
    sections: tuple[dict[str, Any], ...]
    steps: tuple[tuple[int, dict[str, Any]], ...]
    whole: Progress
    begun: tuple[Progress, ...]


def fill_big(database: Database, stock: Stock, garments: int, at: datetime, open_every: int = OPEN_EVERY) -> None:
    """Write so many garments with their log into a studio that has people and cloth but no garment yet."""
    with database.writing() as db:
        pattern = _pattern(stock)
        clients = garments // CLIENTS_EACH + 1
        first_client = max(stock.clients.values()) + 1
        _insert(db, tables.Client, [_client(first_client + n, at) for n in range(clients)])
        db.add(design := tables.Design(key="eight_ladders", name="Eight ladders", document="-", created_at=at))
        design.document = pattern.document
        db.flush()
        assert design.id is not None
        context = _Context(at, usual_minutes(db), design.id, first_client, clients, _stitchers(stock), open_every)
        for first in range(1, garments + 1, BATCH):
            _batch(db, pattern, context, range(first, min(first + BATCH, garments + 1)))
        if not database.is_sqlite:
            _go_on_counting(db)


@dataclass(frozen=True, slots=True)
class _Context:
    at: datetime
    minutes_a_day: int
    design_id: int
    first_client: int
    clients: int
    stitchers: tuple[tuple[int, int], ...]  # account and stitcher of each
    open_every: int

    def wanted_on(self, number: int, *, is_open: bool) -> date:
        days = 20 + number % 200 if is_open else -10 - number % 1400
        return self.at.date() + timedelta(days=days)


def _pattern(stock: Stock) -> Pattern:
    bands = tuple(
        SectionDesign(
            key=f"front.ladder_{n + 1}",
            name=f"Ladder {n + 1}",
            kind="ladder",
            direction="across",
            withdraw_threads=16,
            standing_threads=400,
            stop_lines=2,
            placements=(Placement("front", "top", distance_mm=20 + 30 * n, from_mm=20, to_mm=220),),
        )
        for n in range(SECTIONS)
    )
    outline = "0,0 240,0 240,280 0,280"
    panel = PanelDesign("front", "Front", "front", "gown", 240, 280, outline, sections=bands)
    design = Design("eight_ladders", "Eight ladders", (ClothDesign("gown", "Linen", COUNTS),), (panel,))
    plan = plan_garment(design, {"gown": COUNTS})
    drafted = Drafted(design, plan, {"gown": stock.cloths["linen"]})
    row = panel_row(0, 0, plan.panels[0], drafted)
    sections = tuple(_values(section_row(0, n, section, {"front": row})) for n, section in enumerate(plan.sections))
    steps = tuple(_steps(plan))
    lines = _lines(steps)
    return Pattern(
        write_design(design),
        _values(row),
        sections,
        steps,
        _progress(lines, len(lines)),
        tuple(_progress(lines, round(share * len(lines))) for share in REACHED),
    )


def _steps(plan: GarmentPlan) -> Iterator[tuple[int, dict[str, Any]]]:
    """Each section's place and its steps' values."""
    for place, section in enumerate(plan.sections):
        yield from ((place, _values(step_row(0, step, section))) for step in section.steps)


def _lines(steps: Sequence[tuple[int, dict[str, Any]]]) -> list[Line]:
    return [
        Line(
            id=position,
            unit=step["unit"],
            quantity_tenths=step["quantity_tenths"],
            done_tenths=0,
            unit_ms=step["unit_ms"],
            state=StepState(
                step["operation"], step["quantity_tenths"] / 10, 0, position, "section", f"Ladder {place + 1}", "Front"
            ),
        )
        for position, (place, step) in enumerate(steps)
    ]


def _progress(lines: Sequence[Line], reached: int) -> Progress:
    """The first `reached` steps done and, of one in work, half of the next; in just as many tallies as are wanted."""
    done = [line.quantity_tenths if place < reached else 0 for place, line in enumerate(lines)]
    if reached < len(lines):
        done[reached] = _whole(lines[reached], lines[reached].quantity_tenths // 2)
    places = [place for place, amount in enumerate(done) if amount]
    shares = _shares([done[place] // (1 if lines[place].unit == "cm" else 10) for place in places])
    counts = tuple(
        (place, part)
        for place, share in zip(places, shares, strict=True)
        for part in _parts(lines[place], done[place], share)
    )
    moved = [line.as_far_as(line.quantity_tenths, amount) for line, amount in zip(lines, done, strict=True)]
    return Progress(counts, tuple(done), summary_of(moved))


def _shares(units: Sequence[int]) -> list[int]:
    """How many of the tallies fall on each step: one at least, the rest where the most units are."""
    shares = [1] * len(units)
    for _ in range(TALLIES - len(units)):
        place = max(range(len(units)), key=lambda i: units[i] / shares[i])
        shares[place] += 1
    return shares


def _parts(line: Line, amount: int, parts: int) -> list[int]:
    least = 1 if line.unit == "cm" else 10
    each = _whole(line, amount // parts) or least
    return [each] * (parts - 1) + [amount - each * (parts - 1)]


def _whole(line: Line, tenths: int) -> int:
    return tenths if line.unit == "cm" else tenths // 10 * 10


def _batch(db: Writing, pattern: Pattern, context: _Context, numbers: range) -> None:
    """Write one batch of garments with everything that belongs to them; ids are reckoned from the number."""
    steps_each, sections_each = len(pattern.steps), len(pattern.sections)
    commissions: list[dict[str, Any]] = []
    garments: list[dict[str, Any]] = []
    panels: list[dict[str, Any]] = []
    sections: list[dict[str, Any]] = []
    steps: list[dict[str, Any]] = []
    tallies: list[dict[str, Any]] = []
    for number in numbers:
        is_open = number % context.open_every == 0
        progress = pattern.begun[number // context.open_every % len(pattern.begun)] if is_open else pattern.whole
        first_step, first_section = (number - 1) * steps_each + 1, (number - 1) * sections_each + 1
        account_id, stitcher_id = context.stitchers[number % len(context.stitchers)]
        commissions.append(_commission(number, context, is_open=is_open))
        garments.append(_garment(number, pattern, progress, context, first_step, stitcher_id, is_open=is_open))
        panels.append({**pattern.panel, "id": number, "garment_id": number, "holder_id": stitcher_id})
        sections += [
            {**values, "id": first_section + place, "garment_id": number, "panel_id": number}
            for place, values in enumerate(pattern.sections)
        ]
        steps += [
            {
                **values,
                "id": first_step + position,
                "garment_id": number,
                "panel_id": number,
                "section_id": first_section + place,
                "position": position,
                "done_tenths": progress.done[position],
            }
            for position, (place, values) in enumerate(pattern.steps)
        ]
        tallies += _tallies(number, progress, context, first_step, account_id, stitcher_id, is_open=is_open)
    _insert(db, tables.Commission, commissions)
    _insert(db, tables.Garment, garments)
    _insert(db, tables.Panel, panels)
    _insert(db, tables.Section, sections)
    _insert(db, tables.Step, steps)
    _insert(db, tables.Tally, tallies)


def _client(number: int, at: datetime) -> dict[str, Any]:
    return _values(tables.Client(name=f"Client {number}", created_at=at), id=number)


def _commission(number: int, context: _Context, *, is_open: bool) -> dict[str, Any]:
    row = tables.Commission(
        client_id=context.first_client + number % context.clients,
        title=f"Commission {number}",
        wanted_on=context.wanted_on(number, is_open=is_open),
        state="agreed" if is_open else "closed",
        created_at=context.at,
    )
    return _values(row, id=number)


def _garment(
    number: int,
    pattern: Pattern,
    progress: Progress,
    context: _Context,
    first_step: int,
    stitcher_id: int,
    *,
    is_open: bool,
) -> dict[str, Any]:
    wanted_on = context.wanted_on(number, is_open=is_open)
    summary = progress.summary
    over = None if is_open else datetime.combine(wanted_on - timedelta(days=2), context.at.timetz())
    row = tables.Garment(
        commission_id=number,
        design_id=context.design_id,
        name=f"Garment {number}",
        state="in work" if is_open else "delivered",
        document=pattern.document,
        wanted_on=wanted_on,
        planned_ms=summary.planned_ms,
        left_ms=summary.left_ms,
        next_step_id=None if summary.next_step_id is None else first_step + summary.next_step_id,
        start_by=start_by(wanted_on, summary.left_ms, context.minutes_a_day),
        created_at=context.at - timedelta(days=1500),
        finished_at=over,
        delivered_at=over,
    )
    row.holder_id = stitcher_id
    row.joined_at = context.at - timedelta(days=1500)
    return _values(row, id=number)


def _tallies(
    number: int,
    progress: Progress,
    context: _Context,
    first_step: int,
    account_id: int,
    stitcher_id: int,
    *,
    is_open: bool,
) -> Iterator[dict[str, Any]]:
    began = (
        datetime.combine(context.wanted_on(number, is_open=False), context.at.timetz()) - timedelta(days=120)
        if not is_open
        else context.at - timedelta(days=TALLIES)
    )
    for n, (place, counted) in enumerate(progress.counts):
        key = f"big-{number}-{n}"
        at = began + timedelta(days=n)
        yield {
            "key": key,
            "step_id": first_step + place,
            "garment_id": number,
            "account_id": account_id,
            "stitcher_id": stitcher_id,
            "kind": "work",
            "counted_tenths": counted,
            "seconds": 60 * (15 + (number + n) % 60),
            "counters_id": None,
            "overruled": False,
            "reason": "",
            "body_sha256": hashlib.sha256(key.encode()).hexdigest(),
            "at": at,
            "recorded_at": at,
        }


def _stitchers(stock: Stock) -> tuple[tuple[int, int], ...]:
    people = (worker.person for worker in stock.workers.values())
    return tuple((person.id, person.stitcher_id) for person in people if person.stitcher_id is not None)


def _values(row: SQLModel, **changed: object) -> dict[str, Any]:
    """A record's column values, without its id unless one is given."""
    return {**row.model_dump(exclude={"id"}), **changed}


def _insert(db: Writing, table: type[SQLModel], rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        db.connection().execute(insert(table), list(rows))


def _go_on_counting(db: Writing) -> None:
    """Let PostgreSQL number new records after those that came with their numbers."""
    for name in ("client", "commission", "garment", "panel", "section", "step"):
        db.connection().execute(
            text(f"select setval(pg_get_serial_sequence('{name}', 'id'), (select max(id) from {name}))")  # noqa: S608
        )
