"""The marking sheet of a garment, on a page and as PDF: every line to mark, panel by panel, in working order."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import cast

from fastapi import APIRouter
from fastapi.responses import Response

from service.drawing.panel_drawing import MarkedLine, panel_drawing
from service.drawing.scale_rule import BARS, scale_rule
from service.drawing.shown import ShownPanel, ShownSection
from service.errors import NotFound
from service.languages.spoken import said
from service.papers.marking_sheet import (
    PAPERS,
    CarriedRow,
    MarkingSheet,
    Rule,
    SheetLine,
    SheetPanel,
    marking_sheet_pdf,
)
from service.reckoning.designs import ClothCounts, Direction, SectionDesign, SectionKind, Side
from service.reckoning.lengths import unit_called
from service.reckoning.marking import MarkLine, PanelToMark, StripToMark, flat_mm, lines_to_mark, stops_of
from service.reckoning.shapes import Place, Point, Rect
from service.records.db import Reading
from service.records.tables import Cloth, Panel, Section, Studio
from service.studio.cloth import counts_have_moved, current_counts, shrink_not_known
from service.studio.places import read_outline, read_places
from service.studio.sign_in import Person
from service.web.deps import Desk, Id, Reads, SignedIn, SignedInDesk
from service.web.reckoner_making import FINE_UNIT, Source, cloth_panels, source_of
from service.web.step_words import block_to_cut_um
from service.web.words import drawn_length, fine, kind, per

router = APIRouter(include_in_schema=False, prefix="/garments")
DRAWN_WIDE_MM, DRAWN_HIGH_MM = 178.0, 112.0
SCALES = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.5, 15.0, 20.0, 50.0, 100.0)
TWO_LAYERS = frozenset({"hem_band", "tuck_band", "tuck"})
PRINTING = {
    "cm": (
        "Print at 100 %, not fitted to the page: the bar must measure 100 mm. Lay the rule of threads beside the cloth "
        "and count along: the strokes keep step with its threads."
    ),
    "in": (
        "Print at 100 %, not fitted to the page: the bar must measure 4 inches. Lay the rule of threads beside the "
        "cloth and count along: the strokes keep step with its threads."
    ),
}
CAUTIONS = (
    "First cut the block, wash and press it, and straighten its edges by a drawn thread (common practice, no source).",
    (
        "Every line is counted from the block's own edge and lies on its thread: no thread of tolerance (common "
        "practice, no source). The measure is there to find it by; the thread decides."
    ),
    "Count twice before you clip: it cannot be undone.",
)


@dataclass(frozen=True, slots=True)
class Marked:
    """A panel with its lines, as found from its records; a line's section is its key: two may have one name."""

    panel: Panel
    sections: tuple[tuple[Section, SectionDesign, Place], ...]
    to_mark: PanelToMark
    lines: tuple[MarkLine, ...]


@router.get("/{garment_id}/marking-sheet")
def show_marking_sheet(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    sheet = _sheet(desk, person, db, garment_id)
    return desk.page("garments/marking_sheet.html", "table", sheet=sheet, garment_id=garment_id)


@router.get("/{garment_id}/marking-sheet.pdf")
def print_marking_sheet(
    desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id, paper: str = PAPERS[0]
) -> Response:
    if paper not in PAPERS:
        raise NotFound(f"The sheet is printed on one of {', '.join(PAPERS)}.")
    pdf = marking_sheet_pdf(_sheet(desk, person, db, garment_id), paper)
    name = f"marking-sheet-{garment_id}.pdf"
    return Response(pdf, media_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'})


def _sheet(desk: Desk, person: Person, db: Reading, garment_id: int) -> MarkingSheet:
    assert desk.studio
    source = source_of(db, person, str(garment_id), desk.studio)
    assert source
    marked = [marked_on(source, panel) for panel in source.parts.panels]
    rules, moved = [], []
    unit, count = (unit_called(each) for each in (desk.studio.length_unit, desk.studio.count_unit))
    for at, (cloth, panels) in enumerate(cloth_panels(source)):
        counts = ClothCounts(panels[0].warp_per_cm, panels[0].weft_per_cm)
        words = f"{cloth.name}: {said(_counts(counts, desk.studio))}"
        rule = scale_rule(counts.warp_per_cm, counts.weft_per_cm, f"rule{at}", unit=unit, count=count)
        rules.append(Rule(rule, words, BARS[unit].width_mm))
        finding = counts_have_moved(counts, current_counts(db, panels[0].cloth_id))
        moved += [f"{cloth.name}. {finding.text}"] if finding else []
        moved += [f"{cloth.name}. {unknown}"] if (unknown := shrink_not_known(cloth)) else []
    return MarkingSheet(
        title=f"Marking sheet: {source.garment.name}",
        studio=desk.studio.name,
        told=_told(source),
        unit=FINE_UNIT[desk.studio.length_unit],
        printing=PRINTING[unit],
        cautions=(*moved, *CAUTIONS),
        rules=tuple(rules),
        panels=tuple(_panel(one, source.cloths[one.panel.cloth_id], desk.studio, at) for at, one in enumerate(marked)),
        carried=tuple(_carried(source, desk.studio)),
    )


def _told(source: Source) -> str:
    cloths = "; ".join(
        f"{cloth.name}, {said(_counts(ClothCounts(panels[0].warp_per_cm, panels[0].weft_per_cm), source.studio))}"
        for cloth, panels in cloth_panels(source)
    )
    size = f"Size: {source.garment.size}. " if source.garment.size else ""
    return f"{size}Cloth: {cloths}."


def _counts(counts: ClothCounts, studio: Studio) -> str:
    unit = studio.count_unit
    return f"warp {per(counts.warp_per_cm, unit)}, weft {per(counts.weft_per_cm, unit)}"


def marked_on(source: Source, panel: Panel) -> Marked:
    lying = tuple(
        (section, source.drawn[section.key], spot.place)
        for section in source.parts.sections
        if section.key in source.drawn
        for spot in read_places(section.places)
        if spot.panel == panel.key
    )
    strips = tuple(
        _strip(section, drawn, place, strip, panel.key) for section, drawn, place in lying for strip in place.strips
    )
    to_mark = PanelToMark(panel.warp_per_cm, panel.weft_per_cm, strips)
    return Marked(panel, lying, to_mark, lines_to_mark(to_mark))


def _strip(section: Section, drawn: SectionDesign, place: Place, strip: Rect, panel: str) -> StripToMark:
    direction = cast("Direction", section.direction)
    fold = place.lines[0][0] if drawn.depth_mm is not None and place.lines else None
    return StripToMark(
        section.key,
        direction,
        strip,
        None if fold is None else fold[1] if direction == "across" else fold[0],
        None if section.kind == "tuck" else section.withdrawn_threads,
        opening_inside=drawn.opening_inside,
        stops=stops_of(drawn, panel, section.stop_lines or 0),
        folded=section.kind in TWO_LAYERS,
        hoop=section.hoop,
        after_joining=section.owner == "garment",
    )


def _panel(marked: Marked, cloth: Cloth, studio: Studio, at: int) -> SheetPanel:
    shown = _flat(marked)
    names = {section.key: section.name for section, _, _ in marked.sections}
    lines = [MarkedLine(line.number, line.direction, line.at_mm) for line in marked.lines]
    svg = panel_drawing(shown, f"panel{at}", lines, drawn_length)
    drawn_mm, scale = _to_scale(svg)
    return SheetPanel(
        name=marked.panel.name,
        told=_block(marked.panel, cloth, studio, scale),
        svg=svg,
        words=f"{marked.panel.name} with {len(lines)} numbered lines",
        drawn_mm=drawn_mm,
        lines=tuple(_line(line, names[line.section], studio) for line in marked.lines),
        notes=tuple(_notes(marked, studio)),
    )


def _block(panel: Panel, cloth: Cloth, studio: Studio, scale: float) -> str:
    """How large to cut the block, and what it becomes in the wash: that is what is marked."""
    washed = (panel.cut_width_um, panel.cut_height_um)
    cut = block_to_cut_um(panel, cloth)
    wide, high = (fine(um / 1000, studio.length_unit) for um in washed)
    if cut == washed:
        return f"Block as cut, before its tucks: {wide} wide, {high} along the warp. Drawing 1 : {scale:g}."
    to_wide, to_high = (fine(round(um / 1000), studio.length_unit) for um in cut)  # no shears cut finer than a mm
    return (
        f"Cut the block {to_wide} wide, {to_high} along the warp. Washed, before its tucks, it is {wide} wide, {high} "
        f"along the warp: so it is marked. Drawing 1 : {scale:g}."
    )


def _to_scale(svg: str) -> tuple[float, float]:
    """How wide to print a drawing in mm, and its scale: the largest of the usual ones that the page holds."""
    found = re.search(r'viewBox="\S+ \S+ (\S+) (\S+)"', svg)
    assert found
    wide, high = float(found[1]), float(found[2])
    fits = (scale for scale in SCALES if wide / scale <= DRAWN_WIDE_MM and high / scale <= DRAWN_HIGH_MM)
    scale = next(fits, SCALES[-1])
    return round(wide / scale, 2), scale


def _line(line: MarkLine, section: str, studio: Studio) -> SheetLine:
    later = " (when the panels are joined)" if line.after_joining else ""
    return SheetLine(
        number=line.number,
        section=section,
        what=f"{line.what}{later}",
        edge=line.edge,
        thread=f"{line.at_thread} {said(line.system)}",
        at=fine(round(line.at_mm, 1), studio.length_unit).partition(" ")[0],
        layers="1 layer" if line.layers == 1 else f"{line.layers} layers",
        hoop="in a hoop" if line.hoop else "none",
    )


def _flat(marked: Marked) -> ShownPanel:
    """The panel as it lies before its tucks: outline, strips and lines moved on by what they take up."""
    panel = marked.panel

    def moved(point: Point) -> Point:
        return flat_mm(marked.to_mark, "down", point[0]), flat_mm(marked.to_mark, "across", point[1])

    return ShownPanel(
        panel.key,
        panel.name,
        cast("Side", panel.side),
        tuple(moved(point) for point in read_outline(panel.outline)),
        panel.cut_width_um / 1000,
        panel.cut_height_um / 1000,
        (0.0, 0.0),
        tuple(
            ShownSection(
                section.key,
                section.name,
                cast("SectionKind", section.kind),
                _moved(marked, section, place, moved),
                cast("Direction | None", section.direction),
                section.bundles or 0,
            )
            for section, _, place in marked.sections
        ),
    )


def _moved(marked: Marked, section: Section, place: Place, moved: Callable[[Point], Point]) -> Place:
    lines = [line.at_mm for line in marked.lines if line.section == section.key and line.direction == section.direction]
    strips = []
    for strip in place.strips:
        (left, top), (right, bottom) = moved((strip.left, strip.top)), moved((strip.right, strip.bottom))
        whole = Rect(left, top, right, bottom)
        if lines and section.direction == "across":
            whole = replace(whole, top=min(lines), bottom=max(lines))
        elif lines:
            whole = replace(whole, left=min(lines), right=max(lines))
        strips.append(whole)
    return Place(
        tuple(strips),
        () if place.strips else tuple(tuple(moved(point) for point in line) for line in place.lines),
        tuple(moved(point) for point in place.points),
    )


def _notes(marked: Marked, studio: Studio) -> Iterable[str]:
    if any(strip.fold_mm is not None for strip in marked.to_mark.strips):
        yield (
            "Trace neck, shoulder and outline only as a guide now: the tucks move them. When the tucks are made, "
            "lay the pattern over again, then trace and cut."
        )
    for section, drawn, place in marked.sections:
        if drawn.folded_first:
            yield (
                f"{section.name}: fold and baste the facing first; the band is withdrawn from the single layer just "
                "inside the basted edge, and the knots catch that edge."
            )
        if stops_of(drawn, marked.panel.key, section.stop_lines or 0).chosen_at_the_cloth:
            yield (
                f"{section.name}: the design does not say at which of its ends the stop line is. Both are marked: "
                "stitch the one that the threads are not drawn out at."
            )
        for x, y in place.points:
            across, down = (fine(value, studio.length_unit) for value in (x, y))
            yield f"{section.name}: {kind(section.kind)} at {across} from the left and {down} from the top."


def _carried(source: Source, studio: Studio) -> Iterable[CarriedRow]:
    for section in source.parts.sections:
        drawn = source.drawn.get(section.key)
        if drawn is None or not drawn.is_band or not section.withdrawn_threads:
            continue
        yield CarriedRow(
            section.name,
            _threads(drawn.withdraw_threads),
            _threads(section.withdrawn_threads),
            fine((section.width_um or 0) / 1000, studio.length_unit),
            f"{section.bundles} of {section.bundle_threads}",
        )


def _threads(count: int | None) -> str:
    return "" if count is None else "1 thread" if count == 1 else f"{count} threads"
