"""Something went wrong with a band: the ways out with what each changes, and the chosen one as a logged change."""

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import Design, PanelDesign, SectionDesign
from service.reckoning.gates import KNOTS
from service.reckoning.hours import Line
from service.reckoning.hours_left import days_of
from service.reckoning.operations import operation_named
from service.reckoning.price import AlterationAsk, reckon_alteration
from service.reckoning.quoting import hours_changed, with_more
from service.reckoning.rescue import TROUBLES, InTrouble, Trouble, Way, ways_out
from service.reckoning.shrink import to_cut_um
from service.records.db import Reading, Writing
from service.records.tables import Charges, Cloth, Event, Garment, Panel, Section, Step
from service.studio.guesses import guesses_of
from service.studio.hands import is_in_hands
from service.studio.log import TallyAsk, add_tally
from service.studio.making import guessed_ms
from service.studio.quotes import Foresight
from service.studio.rates import stretches_left
from service.studio.recount import Recount, recount_section
from service.studio.sign_in import Person
from service.studio.standing import check_open, garment_with, locked_garment, resummarise, usual_minutes

RESCUED = "way out taken"
UM_PER_MM = 1000
LIKELY = 0.5
LEAST_BUNDLE = 2
UNHELD = 10**12  # what falls away is told whole: nothing is given back by it yet
MS_PER_HOUR = 3_600_000


@dataclass(frozen=True, slots=True)
class Offered:
    """A way out with what it changes: likely hours, the price (None where the studio has no rate), days of work."""

    way: Way
    hours: float
    price_minor: int | None
    days: int
    mirrors: tuple[str, ...]


def trouble_named(word: str) -> Trouble:
    """The trouble of that name, or a refusal at its field."""
    known = next((one for one in TROUBLES if one == word), None)
    if known is None:
        raise Unreadable({"trouble": "Choose what went wrong."})
    return known


def offered_ways(
    db: Reading | Writing, person: Person, section_id: int, trouble: Trouble, foresight: Foresight
) -> list[Offered]:
    """The ways out of a trouble with a band, with hours, price and days of each."""
    section = band_with(db, person, section_id)
    mirrors = _mirrors(db, section)
    found = ways_out(trouble, in_trouble(db, section))
    return [_offered(db, section, way, foresight, tuple(row.name for row in mirrors)) for way in found]


def band_with(db: Reading | Writing, person: Person, section_id: int) -> Section:
    """The band, refused when unknown, when it is none, or when it is in other hands."""
    section = db.get(Section, section_id)
    if section is None:
        raise NotFound("There is no such section among those you may see.")
    garment = garment_with(db, section.garment_id)
    if not person.is_owner and not is_in_hands(db, person, garment, section.panel_id):
        raise NotFound("There is no such section among those you may see.")
    if section.kind not in BAND_KINDS or not section.withdrawn_threads:
        raise Conflict("Ways out are known for bands; this section withdraws no thread.")
    return section


def in_trouble(db: Reading | Writing, section: Section) -> InTrouble:
    """A band and its panel as they stand."""
    steps = db.exec(select(Step).where(Step.section_id == section.id)).all()
    panel = None if section.panel_id is None else db.get_one(Panel, section.panel_id)
    of_panel = [] if panel is None else db.exec(select(Step).where(Step.panel_id == panel.id)).all()
    garment = garment_with(db, section.garment_id)
    cloth = None if panel is None else db.get_one(Cloth, panel.cloth_id)
    return InTrouble(
        kind=section.kind,
        withdrawn_threads=section.withdrawn_threads or 1,
        standing_threads=section.standing_threads or 1,
        bundle_threads=section.bundle_threads or 1,
        stop_lines=section.stop_lines or 0,
        width_mm=(section.width_um or 0) / UM_PER_MM,
        length_mm=(section.length_um or 0) / UM_PER_MM,
        matched=len(_mirrors(db, section)),
        knots_begun=any(step.operation in KNOTS and step.done_tenths for step in steps),
        cut_out=any(step.operation == "cut_out" and step.done_tenths for step in of_panel),
        joined=garment.joined_at is not None or section.owner == "garment",
        block_height_mm=0 if cloth is None or panel is None else _to_cut_mm(panel, cloth),
        cloth_on_hand_mm=0 if cloth is None else cloth.on_hand_um / UM_PER_MM,
        tuck_length_mm=_longest_tuck_mm(db, section.garment_id),
        left=_amounts((step, step.quantity_tenths - step.done_tenths) for step in steps),
        panel_done=_amounts((step, step.done_tenths) for step in of_panel),
    )


def _to_cut_mm(panel: Panel, cloth: Cloth) -> float:
    return to_cut_um(panel.cut_height_um, cloth.shrink_warp_bp) / UM_PER_MM


def take_way(db: Writing, person: Person, section_id: int, told: tuple[Trouble, str, str], at: datetime) -> Section:
    """Take a way out: the work and counts that follow from it, and the line of the log that tells why."""
    trouble, name, reason = told
    locked_garment(db, band_with(db, person, section_id).garment_id)
    section = band_with(db, person, section_id)
    check_open(garment_with(db, section.garment_id))
    if not reason.strip():
        raise Unreadable({"reason": "Say what happened, in a few words."})
    way = next((way for way in ways_out(trouble, in_trouble(db, section)) if way.name == name), None)
    if way is None:
        raise Unreadable({"way": "Choose one of the ways out."})
    if not way.is_open:
        raise Conflict(way.why_not)
    if not person.is_owner and (way.kind or way.name in {"new panel", "bind instead"}):
        raise NotAllowed("This way changes what was promised. Ask the owner to take it.")
    why = f"{trouble}, {way.name}: {reason.strip()}"
    _do(db, person, section, way, why, at)
    _keep(db, person, section, way, why, at)
    resummarise(db, section.garment_id)
    return section


def _do(db: Writing, person: Person, section: Section, way: Way, why: str, at: datetime) -> None:
    if way.name == "new panel":
        _begin_again(db, person, section, why, at)
    elif way.name == "smaller bundle":
        _make_smaller(db, section)
    elif way.withdrawn_threads or way.standing_threads:
        _recount(db, person, section, way, why, at)
    elif way.kind:
        _change_kind(db, person, section, way.kind, why, at)
    else:
        _change_work(db, section, way)


def _recount(db: Writing, person: Person, section: Section, way: Way, why: str, at: datetime) -> None:
    counted = Recount(why, way.standing_threads, way.withdrawn_threads, accepted=True)
    stitched = {step.id for step in _steps(db, section) if step.operation == "edge_stitch" and step.done_tenths}
    recount_section(db, person, section.id or 0, counted, at)
    if way.name == "move the stop line":
        for step in _steps(db, section):
            if step.id in stitched:
                step.quantity_tenths = step.done_tenths + round((section.width_um or 0) / 1000)
                db.add(step)


def _make_smaller(db: Writing, section: Section) -> None:
    """Let the bundle that is worked next be one thread smaller; no bundle is more or fewer for it."""
    usual = [section.bundle_threads or 1] * (section.bundles or 1)
    sizes = [int(size) for size in section.bundle_sizes.split()] or usual
    knots = sum(step.done_tenths // 10 for step in _steps(db, section) if step.operation in KNOTS)
    at = min(knots % len(sizes), len(sizes) - 1)
    if sizes[at] < LEAST_BUNDLE:
        raise Conflict("That bundle has no thread to spare. Choose another way.")
    sizes[at] -= 1
    section.bundle_sizes = " ".join(str(size) for size in sizes)
    section.standing_threads = sum(sizes)
    db.add(section)
    db.flush()


def _change_kind(db: Writing, person: Person, section: Section, kind: BandKind, why: str, at: datetime) -> None:
    garment = db.get_one(Garment, section.garment_id)
    first = section.mirror_of or section.key
    garment.document = write_design(_with_kind(read_design(garment.document), first, kind))
    db.add(garment)
    for row in (section, *_mirrors(db, section)):
        row.kind = kind
        db.add(row)
    db.flush()
    counted = Recount(why, section.standing_threads, section.withdrawn_threads, accepted=True)
    recount_section(db, person, section.id or 0, counted, at)


def _with_kind(design: Design, key: str, kind: BandKind) -> Design:
    def changed(sections: Sequence[SectionDesign]) -> tuple[SectionDesign, ...]:
        return tuple(replace(one, kind=kind) if one.key == key else one for one in sections)

    def of_panel(panel: PanelDesign) -> PanelDesign:
        return replace(panel, sections=changed(panel.sections))

    return replace(design, panels=tuple(map(of_panel, design.panels)), sections=changed(design.sections))


def _begin_again(db: Writing, person: Person, section: Section, why: str, at: datetime) -> None:
    """Undo all that is done of the panel, the last step first; the block that is spoilt stays cut off the bolt."""
    done = select(Step).where(Step.panel_id == section.panel_id, Step.done_tenths > 0)
    for step in db.exec(done.order_by(col(Step.position).desc())).all():
        counted = Decimal(step.done_tenths) / 10
        ask = TallyAsk(key=secrets.token_urlsafe(18), counted=counted, kind="unpick", overrule=why)
        add_tally(db, person, step.id or 0, ask, at)


def _change_work(db: Writing, section: Section, way: Way) -> None:
    """Add what the way asks for after the section's last step, and let fall away what it drops."""
    steps = _steps(db, section)
    known = {step.operation: step for step in steps}
    last = max(step.position for step in steps)
    for operation, units in way.work.items():
        if units < 0:
            known[operation].quantity_tenths = known[operation].done_tenths
            db.add(known[operation])
        elif operation in known:
            known[operation].quantity_tenths += round(units * 10)
            db.add(known[operation])
        else:
            last += 1
            _make_room(db, section.garment_id, last)
            db.add(_added_step(db, section, (operation, units, last), way.name))
    db.flush()


def _added_step(db: Writing, section: Section, told: tuple[str, float, int], note: str) -> Step:
    operation, units, position = told
    standing = section.standing_per_cm
    return Step(
        garment_id=section.garment_id,
        panel_id=section.panel_id,
        section_id=section.id,
        position=position,
        operation=operation,
        unit=operation_named(operation).unit,
        quantity_tenths=round(units * 10),
        unit_ms=guessed_ms(operation, standing, None, guesses_of(db)),
        note=note,
    )


def _make_room(db: Writing, garment_id: int, position: int) -> None:
    for step in db.exec(select(Step).where(Step.garment_id == garment_id, col(Step.position) >= position)):
        step.position += 1
        db.add(step)
    db.flush()


def _keep(db: Writing, person: Person, section: Section, way: Way, why: str, at: datetime) -> None:
    db.add(
        Event(
            at=at,
            account_id=person.id,
            garment_id=section.garment_id,
            action=RESCUED,
            object_kind="section",
            object_id=section.id or 0,
            reason=why,
            after=way.how,
        )
    )
    db.flush()


def _offered(
    db: Reading | Writing, section: Section, way: Way, foresight: Foresight, mirrors: tuple[str, ...]
) -> Offered:
    before = {section.garment_id: stretches_left(db, [section.garment_id])[section.garment_id]}
    lines = [Line(name, units, section.standing_per_cm) for name, units in way.work.items() if units]
    try:
        after = {section.garment_id: with_more(before[section.garment_id], lines)}
    except Wrong:  # less is left than the way would drop
        after = before
    found = hours_changed(foresight.learned.drawn, before, after, LIKELY, foresight.kappa)
    hours = found.after - found.before
    work_ms = round(abs(hours) * MS_PER_HOUR)
    days = days_of(work_ms, usual_minutes(db)) * (-1 if hours < 0 else 1)
    return Offered(way, hours, _price(db, found.before, found.after), days, mirrors if way.matched else ())


def _price(db: Reading | Writing, before: float, after: float) -> int | None:
    charges = db.exec(select(Charges)).first()
    if charges is None:
        return None
    rates = (charges.hour_rate_minor, charges.overhead_minor_per_hour)
    ask = AlterationAsk(round(before, 2), round(after, 2), *rates, 0, charges.margin_hundredths / 100, 0, UNHELD)
    return reckon_alteration(ask).total


def _amounts(told: Iterable[tuple[Step, int]]) -> dict[str, float]:
    """Amounts by operation, in its own unit; those that are nothing left out."""
    found: dict[str, float] = {}
    for step, tenths in told:
        if tenths:
            found[step.operation] = found.get(step.operation, 0.0) + tenths / 10
    return found


def _mirrors(db: Reading | Writing, section: Section) -> list[Section]:
    """The sections that mirror it, or that it mirrors, with the same counts: they follow what it becomes."""
    first = section.mirror_of or section.key
    group = select(Section).where(
        Section.garment_id == section.garment_id, (Section.key == first) | (Section.mirror_of == first)
    )
    counts = (section.standing_threads, section.withdrawn_threads)
    rows = db.exec(group.order_by(col(Section.position))).all()
    return [row for row in rows if row.id != section.id and (row.standing_threads, row.withdrawn_threads) == counts]


def _longest_tuck_mm(db: Reading | Writing, garment_id: int) -> float | None:
    lengths = db.exec(select(Section.length_um).where(Section.garment_id == garment_id, Section.kind == "tuck")).all()
    return max((length / UM_PER_MM for length in lengths if length), default=None)


def _steps(db: Reading | Writing, section: Section) -> list[Step]:
    return list(db.exec(select(Step).where(Step.section_id == section.id).order_by(col(Step.position))))
