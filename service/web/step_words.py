"""What the page of a step tells of its work: the facts to hold to, quick amounts to count, the place reached."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import cast

from markupsafe import Markup

from service.drawing.band_close_up import band_close_up
from service.drawing.garment_map import garment_map
from service.drawing.panel_drawing import panel_drawing
from service.drawing.shown import End, ShownBand, ShownPanel
from service.drawing.stitch_path import stitch_path
from service.drawing.stitch_words import StitchOrder, stitch_order
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.design_text import design_on_record
from service.reckoning.designs import SectionDesign, WorkDirection
from service.reckoning.gates import KNOTS
from service.reckoning.mirrors import sections_drawn_up
from service.reckoning.shrink import to_cut_um
from service.records.queries.drawn import DrawnRows
from service.records.tables import Cloth, Garment, Panel, Section, Step
from service.studio.cloth import shrink_not_known
from service.web.amount_words import shown_amount
from service.web.drawn import shown_panels
from service.web.words import drawn_length, measure, tidy

QUICK = {"knot": (1, 5, 10, 25), "thread": (1, 5, 10), "cm": (1, 5, 10), "closure": (1,), "motif": (1,)}
ON_TWO_STOP_LINES = (2, 10, 20)  # clips: each thread is clipped at both
STOPS: tuple[tuple[End, ...], ...] = ((), ("start",), ("start", "end"))
STITCHED = frozenset({*KNOTS, "edge_stitch", "secure", "whip_bias", "stitch_bias", "lace", "seam", "embroider"})


@dataclass(frozen=True, slots=True)
class Work:
    """One step with the panel and section it lies on, if on one."""

    garment: Garment
    step: Step
    panel: Panel | None
    section: Section | None


def quick_amounts(work: Work) -> tuple[int, ...]:
    """Amounts worth a button of their own: less than all that is left, in whole units."""
    twice = work.step.operation == "clip" and work.section is not None and work.section.stop_lines == 2
    amounts = ON_TWO_STOP_LINES if twice else QUICK.get(work.step.unit, ())
    left = shown_amount((work.step.quantity_tenths - work.step.done_tenths) / 10, work.step.unit)
    return tuple(amount for amount in amounts if amount < left)


def facts_of(work: Work) -> list[tuple[str, str]]:
    """What to hold to while at it, as pairs of words; only what this operation asks for."""
    return [] if work.section is None else list(_facts(work.step.operation, work.section))


def facts_of_block(panel: Panel, cloth: Cloth, unit: str) -> list[tuple[str, str]]:
    """How large a block to cut, which way, from which cloth, and what stays after washing and after its tucks."""
    cut = block_to_cut_um(panel, cloth)
    facts = [("Block to cut", _size(*cut, unit)), ("From", cloth.name)]
    if unknown := shrink_not_known(cloth):
        facts.append(("Shrinkage", unknown))
    if cut != (panel.cut_width_um, panel.cut_height_um):
        facts.append(("After washing", _size(panel.cut_width_um, panel.cut_height_um, unit)))
    if (panel.cut_width_um, panel.cut_height_um) != (panel.block_width_um, panel.block_height_um):
        facts.append(("As drawn, tucks taken up", _size(panel.block_width_um, panel.block_height_um, unit)))
    return facts


def block_to_cut_um(panel: Panel, cloth: Cloth) -> tuple[int, int]:
    """How wide and how high to cut a panel's block off the bolt: larger by what its cloth shrinks each way."""
    return (
        to_cut_um(panel.cut_width_um, cloth.shrink_weft_bp),
        to_cut_um(panel.cut_height_um, cloth.shrink_warp_bp),
    )


def _size(width_um: int, height_um: int, unit: str) -> str:
    in_mm = "" if unit == "in" else f" ({tidy(width_um / 1000, 0)} × {tidy(height_um / 1000, 0)} mm)"
    return f"{measure(width_um, unit)} across × {measure(height_um, unit)} along the warp{in_mm}"


def _facts(operation: str, section: Section) -> Iterator[tuple[str, str]]:
    if operation in KNOTS:
        yield "Bundle", _bundle(section)
        if section.catch_threads:
            yield "Catch", f"about {section.catch_threads} threads of the hem"
    if operation == "clip":
        yield "Clip", _distance(section)
    if operation == "withdraw" and section.withdrawn_threads:
        yield "Threads", f"{section.withdrawn_threads} withdrawn, {section.standing_threads} standing across them"
    if operation in STITCHED:
        if section.kind in BAND_KINDS:
            yield "Hoop", "in a hoop" if section.hoop else "without a hoop"
        if section.side_worked:
            yield "Side", "from the right side" if section.side_worked == "right" else "from the wrong side"
        if section.work_direction:
            yield "Direction", section.work_direction
        if section.loop_direction and operation in KNOTS:
            yield "Loop", section.loop_direction
        if section.thread:
            yield "Thread", section.thread


def _bundle(section: Section) -> str:
    if section.bundle_sizes:
        sizes = sorted({int(size) for size in section.bundle_sizes.split()})
        return f"{' or '.join(str(size) for size in sizes)} threads: odd ones are spread"
    layers = " from each layer" if section.kind == "tuck_band" else ""
    return f"{section.bundle_threads} threads{layers}"


def _distance(section: Section) -> str:
    inside = section.clip_inside_threads
    if not section.stop_lines:
        return "where the threads run out"
    if not inside:
        return "right behind the stop line"
    return f"{inside} {'thread' if inside == 1 else 'threads'} inside the stop line"


@lru_cache(maxsize=256)
def drawn_section(document: str, key: str) -> SectionDesign | None:
    """The section as it was drawn up in the garment's own design."""
    return sections_drawn_up(design_on_record(document)).get(key)


def step_drawing(work: Work, rows: DrawnRows) -> Markup:
    """The place reached: a band close to, else the panels it is on, with a pin in the section."""
    step, section = work.step, work.section
    if section is not None and section.kind in BAND_KINDS and section.bundles:
        try:
            band = shown_band(section, drawn_section(work.garment.document, section.key))
            return Markup(  # noqa: S704 (SVG of our own, all escaped)
                band_close_up(band, step.operation, step.done_tenths / 10, step.quantity_tenths / 10)
            )
        except Wrong:
            pass  # this operation has no line on this band, so its panel is shown
    shown = _panels_of(work, rows)
    if step.operation == "cut_block" and len(shown) == 1:
        return Markup(panel_drawing(shown[0], length=drawn_length))  # noqa: S704 (as above)
    return Markup(garment_map(shown, work.garment.name)) if shown else Markup()  # noqa: S704 (as above)


@dataclass(frozen=True, slots=True)
class Stitch:
    """How a band's knots are made: the thread's way drawn large, and a sentence for each of its numbers."""

    drawing: Markup
    order: StitchOrder


def stitch_of(work: Work) -> Stitch | None:
    """How the knots of this step are made; None for any other work."""
    section = work.section
    if section is None or work.step.operation not in KNOTS or section.kind not in BAND_KINDS:
        return None
    drawing = stitch_path(section.kind, work_direction(section), section.catch_threads)
    order = stitch_order(section.kind, section.catch_threads)
    return Stitch(Markup(drawing), order)  # noqa: S704 (SVG of our own, all escaped)


def work_direction(section: Section) -> WorkDirection:
    """Which way a section is worked; left to right where it does not say."""
    return "right to left" if section.work_direction == "right to left" else "left to right"


def _panels_of(work: Work, rows: DrawnRows) -> tuple[ShownPanel, ...]:
    """The panels that the step lies on; all of them where it lies on none."""
    key = "" if work.section is None else work.section.key
    is_open = work.step.done_tenths < work.step.quantity_tenths
    panels = shown_panels(rows, work.section.id if work.section and is_open else None)
    if work.section is None and work.panel is not None:
        return tuple(panel for panel in panels if panel.key == work.panel.key)
    return tuple(panel for panel in panels if any(each.key == key for each in panel.sections)) or panels


def shown_band(section: Section, drawn: SectionDesign | None) -> ShownBand:
    """The band as the drawings take it."""
    return ShownBand(
        kind=cast("BandKind", section.kind),
        name=section.name,
        bundles=section.bundles or 1,
        bundle_threads=section.bundle_threads or 1,
        bundle_sizes=tuple(int(size) for size in section.bundle_sizes.split()),
        withdraw_threads=section.withdrawn_threads or 0,
        ends_at=STOPS[section.stop_lines or 0],
        closed_round=drawn is not None and drawn.closed_round,
        pair_rows=1 if drawn is None else drawn.pair_rows,
        work_direction=work_direction(section),
    )
