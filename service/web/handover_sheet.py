"""The sheet that goes with a piece from hand to hand: whoever reads it alone can make the very next knot."""

from collections.abc import Iterator
from dataclasses import dataclass

from sqlmodel import select

from service.drawing.band_close_up import band_close_up
from service.drawing.garment_map import garment_map
from service.drawing.stitch_path import stitch_path
from service.drawing.stitch_words import BAND_WORDS, stitch_order
from service.languages.spoken import Typed, said
from service.papers.paper import Drawing, Ledger, Paper, Part
from service.papers.qr import qr_svg
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.cautions import COMMON
from service.reckoning.operations import operation_named
from service.records.db import Reading
from service.records.queries.drawn import drawn_rows
from service.records.queries.garments import Parts, parts_of
from service.records.queries.handovers import HandoverRow, handover_row
from service.records.tables import Garment, Handover, HandoverMaterial, HandoverPlace, Section, Step, Studio
from service.studio.handover_hours import AtHerPace, hours_at_pace
from service.studio.handovers import panel_ids_of
from service.studio.rates import Learning
from service.studio.stopping import SectionLeft, places_now, sections_left
from service.web.amount_words import counted, unit_word
from service.web.deps import Desk, whole_address
from service.web.drawn import shown_panels
from service.web.handover_words import (
    StoppedPlace,
    catch_words,
    given_by,
    given_to,
    handed,
    on_50_mm,
    place_facts,
    sharps,
    stopped_at,
)
from service.web.hours_words import likely_left
from service.web.papers import cautions_part
from service.web.step_words import drawn_section, shown_band, work_direction
from service.web.words import at_home, day, kind, operation

JOINED = "the joined garment"
OF_THE_WORK = (
    (
        "Count needles and pins in before you take it. If one is missing, the garment stays there and is searched "
        "until all of it is found (the needle rule of garment factories, NIMI, CITS Dress Making; for hand stitching "
        "common practice, no source). A magnet does not find brass, and no detector proves that there is nothing."
    ),
    (
        "Work a sample row on the spare cloth first and count the bundles on 50 mm: more than 5 % apart will show "
        f"({COMMON})."
    ),
    (
        "Count the threads of the next bundle twice before the needle goes in, and begin where the drawing says "
        f"({COMMON})."
    ),
)


@dataclass(frozen=True, slots=True)
class Handed:
    """A handover with all that its sheet is made from."""

    handover: Handover
    row: HandoverRow
    garment: Garment
    parts: Parts
    stops: tuple[StoppedPlace, ...]
    left: tuple[SectionLeft, ...]
    pace: AtHerPace
    mostly_guesses: bool


def sheet_of(desk: Desk, db: Reading, handover: Handover, learning: Learning) -> Paper:
    """The sheet of one handover; its code leads to the piece's page, as the service was reached."""
    assert desk.studio
    found = _handed(db, handover, learning)
    address = whole_address(desk.request, f"garments/{found.garment.id}")
    return Paper(
        title=f"Handover sheet: {found.garment.name}",
        studio=desk.studio.name,
        told=_told(found, desk.studio),
        parts=(
            Part(
                facts=tuple(_who(found, desk.studio)),
                drawings=(Drawing(qr_svg(address, f"Code: {address}"), f"Code that leads to {address}", 27),),
            ),
            *(_stop(found, stop, at) for at, stop in enumerate(found.stops)),
            *_stitches(found),
            Part("Where it lies", drawings=(Drawing(_map(db, found), f"{found.garment.name}", 110),)),
            Part("What is left", ledger=_left(found), points=tuple(_irreversible(found))),
            *_travels(db, found),
            Part("At the work", points=OF_THE_WORK),
            cautions_part(db, found.garment, found.parts, None),
        ),
        foot="These are reminders, not legal advice; check local rules.",
    )


def _handed(db: Reading, handover: Handover, learning: Learning) -> Handed:
    garment = db.get_one(Garment, handover.garment_id)
    assert garment.id is not None
    assert handover.id is not None
    panel_ids = panel_ids_of(db, handover)
    parts, row = parts_of(db, garment.id), handover_row(db, handover.id)
    assert row is not None
    names = {panel.id: panel.name for panel in parts.panels}
    sections = {section.id: section for section in parts.sections}
    steps = {step.id: step for step in parts.steps}

    def stopped(place: HandoverPlace) -> StoppedPlace:
        section = sections[place.section_id]
        panel = said(JOINED) if section.owner == "garment" else names.get(section.panel_id, said(JOINED))
        return StoppedPlace(place, section, steps[place.step_id], panel)

    return Handed(
        handover,
        row,
        garment,
        parts,
        tuple(stopped(place) for place in places_now(db, garment, handover, panel_ids)),
        tuple(sections_left(db, garment, panel_ids)),
        hours_at_pace(db, learning, garment, panel_ids, handover.to_id),
        learning.newest(db).mostly_guesses,
    )


def _told(found: Handed, studio: Studio) -> str:
    row = found.row
    when = at_home(row.ended_at or row.offered_at, studio.time_zone)
    state, names = said(row.state.capitalize()), handed(row)
    return f"{names[:1].upper()}{names[1:]}, from {given_by(row)} to {given_to(row)}. {state} {when}."


def _who(found: Handed, studio: Studio) -> Iterator[tuple[str, str]]:
    row, handover = found.row, found.handover
    yield "Wanted on", day(found.garment.wanted_on)
    whose = "at anybody’s pace" if row.to_id is None else f"at {row.to}’s pace"
    guessed = ", mostly guesses until the log is longer" if found.mostly_guesses else ""
    yield "Hours left", f"{likely_left(found.pace.whole)}, {whose}{guessed}"
    yield "Counted out", sharps(row.needles_out, row.pins_out)
    if row.state == "taken":
        yield "Counted in", sharps(handover.needles_in or 0, handover.pins_in or 0)
    if row.is_short:
        yield "Missing", sharps(row.needles_missing, row.pins_missing)
    if handover.tension:
        yield "Tension", Typed(handover.tension)
    if given := on_50_mm(handover.given_first_tenths, handover.given_second_tenths):
        yield "In the piece", given
    if taken := on_50_mm(handover.sample_first_tenths, handover.sample_second_tenths):
        yield "Sample row", taken
    if handover.odd:
        yield "What was odd", Typed(handover.odd)
    if handover.notes:
        yield "Note", Typed(handover.notes)
    yield "Offered by", f"{row.offered_by}, {at_home(row.offered_at, studio.time_zone)}"


def _stop(found: Handed, it: StoppedPlace, at: int) -> Part:
    """One section: what comes next, how it is worked, and the place drawn close to."""
    words = [stopped_at(it)]
    if it.section.kind in BAND_KINDS:
        words.append(f"Stitch: {kind(it.section.kind)}, as drawn below.")
    left = next((each for each in found.left if each.section.id == it.section.id), None)
    words += [_first_knot(left, it), _left_words(found, left)]
    drawing = _close_up(found, it, f"stop{at}")
    return Part(
        f"Where it stopped: {it.section.name} ({kind(it.section.kind)}, {it.panel})",
        tuple(word for word in words if word),
        facts=tuple(place_facts(it)),
        drawings=(Drawing(drawing, stopped_at(it), 108),) if drawing else (),
    )


def _first_knot(left: SectionLeft | None, it: StoppedPlace) -> str:
    """Where the knots begin, once the step in hand is done; nothing where knots are in hand already."""
    if left is None or left.knots is None or left.knot_place is None or left.knots.id == it.step.id:
        return ""
    place = left.knot_place
    if place.next_number is None:
        return ""
    doing = operation(left.knots.operation)
    return (
        f"The knots after that: {doing}, {place.counted} {place.next_number} of {place.whole_number}, {place.row}, "
        f"counted from the {place.from_end} as that edge lies nearest you."
    )


def _left_words(found: Handed, left: SectionLeft | None) -> str:
    if left is None:
        return "Nothing of it is left."
    amounts = ", ".join(f"{said(operation(step.operation))} {_amount_left(step)}" for step in left.left)
    return f"Left of it: {amounts}; {likely_left(found.pace.sections.get(left.section.id or 0))}."


def _amount_left(step: Step) -> str:
    return counted(step.quantity_tenths - step.done_tenths, unit_word(step))


def _close_up(found: Handed, it: StoppedPlace, prefix: str) -> str:
    if it.section.kind not in BAND_KINDS or not it.section.bundles:
        return ""
    band = shown_band(it.section, drawn_section(found.garment.document, it.section.key))
    try:
        return band_close_up(
            band, it.step.operation, it.place.done_tenths / 10, max(it.place.quantity_tenths, 1) / 10, prefix
        )
    except Wrong:  # this operation has no line on this band
        return ""


def _stitches(found: Handed) -> Iterator[Part]:
    """How each kind of band still to be knotted is stitched, drawn large, each once."""
    seen = set()
    for at, left in enumerate(found.left):
        section = left.section
        manner = (section.kind, section.work_direction, section.catch_threads)
        if section.kind not in BAND_KINDS or left.knots is None or manner in seen:
            continue
        seen.add(manner)
        order = stitch_order(section.kind, section.catch_threads)
        drawing = stitch_path(section.kind, work_direction(section), section.catch_threads, f"stitch{at}")
        numbered = tuple(f"{number}. {sentence}" for number, sentence in enumerate(order.steps, 1))
        then = (order.then,) if order.then else ()
        yield Part(
            f"The stitch: {BAND_WORDS[section.kind]}, worked {work_direction(section)}",
            (*numbered, *then, f"{said('Catch')}: {said(catch_words(section.kind, section.catch_threads))}."),
            drawings=(Drawing(drawing, f"{BAND_WORDS[section.kind]}: the thread's way, numbered", 96),),
        )


def _map(db: Reading, found: Handed) -> str:
    hand = found.stops[0].section.id if found.stops else None
    shown = shown_panels(drawn_rows(db, [found.handover.garment_id])[found.handover.garment_id], hand)
    return garment_map(shown, found.garment.name, "whole")


def _left(found: Handed) -> Ledger:
    """What is left of every section, and of the panels' own steps, in the order of the work."""
    rows, last = [], []
    for panel in found.parts.panels:
        own = [step for step in found.parts.own_steps(panel) if step.done_tenths < step.quantity_tenths]
        if own and panel.id in found.row.panel_ids:
            last.append((panel.name, f"last of all: {', '.join(said(operation(step.operation)) for step in own)}", ""))
    for left in found.left:
        amounts = ", ".join(f"{said(operation(step.operation))} {_amount_left(step)}" for step in left.left)
        hours = likely_left(found.pace.sections.get(left.section.id or 0)).removeprefix("likely ")
        rows.append((f"{left.section.name} ({said(_kind_of(left.section))})", amounts, hours))
    return Ledger(("Part", "Left to do", "Likely hours"), (*rows, *last), amounts=(2,))


def _kind_of(section: Section) -> str:
    if not section.bundles:
        return kind(section.kind)
    return f"{kind(section.kind)}, {section.bundles} bundles of {section.bundle_threads}"


def _irreversible(found: Handed) -> Iterator[str]:
    for left in found.left:
        step = next((step for step in left.left if operation_named(step.operation).cannot_be_undone), None)
        if step is not None and left.is_begun:
            yield f"Soon, and cannot be undone: {operation(step.operation)}, {left.section.name}. Count twice first."
    yield "Clipping, withdrawing and cutting out cannot be undone in any part: one thread at a time, counted twice."


def _travels(db: Reading, found: Handed) -> Iterator[Part]:
    materials = db.exec(select(HandoverMaterial).where(HandoverMaterial.handover_id == found.handover.id)).all()
    rows = tuple((it.what, it.amount) for it in materials)
    counts = ((sharps(found.row.needles_out, found.row.pins_out), "counted out"),)
    yield Part("What travels with it", ledger=Ledger(("What", "How much"), (*counts, *rows), ticked=True))
