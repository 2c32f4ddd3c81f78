"""The reckoner's page for tucks: how wide to cut the block, and where every line of it lies."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from service.drawing.tuck_drawing import tuck_drawing
from service.languages.spoken import said
from service.reckoning.asked import Wrong
from service.reckoning.lengths import count_in, unit_called
from service.reckoning.tucks import TuckLine, TucksAsk, TucksPlan, plan_tucks
from service.records.tables import Panel, Section, Studio
from service.studio.places import read_places
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_counts import count_from
from service.web.reckoner_making import (
    FINE_UNIT,
    Answer,
    Filling,
    Page,
    Source,
    as_typed,
    mm_of,
    plain,
    system_across,
)
from service.web.words import fine, measure, per

FIELDS = {
    "tucks": "tucks",
    "depth_mm": "depth",
    "threads_per_cm": "count",
    "finished_width_mm": "width",
    "spacing_mm": "spacing",
    "band_width_mm": "band",
}
MOST_LINES = 100


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines from the centre to the right, the nearest first; those left out when there are very many."""

    shown: tuple[TuckLine, ...]
    left_out: int


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    return {"count_unit": studio.count_unit}


def answer(form: Form, studio: Studio) -> Answer | None:
    """The block, the take-up and the lines of these tucks."""
    ask = _ask(form, studio)
    if ask is None:
        return None
    try:
        plan = plan_tucks(ask)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
        return None
    right = [line for line in plan.lines if line.from_centre_threads >= 0]
    lines = Lines(tuple(right[:MOST_LINES]), max(0, len(right) - MOST_LINES))
    return Answer(
        _told(ask, plan, studio),
        _figures(ask, plan, studio),
        plan.findings,
        plan.notes,
        (tuck_drawing(ask, plan),),
        lines,
    )


def _ask(form: Form, studio: Studio) -> TucksAsk | None:
    fine_unit = FINE_UNIT[studio.length_unit]
    tucks = form.whole("tucks", called="the number of tucks", least=1)
    depth = mm_of(form, "depth", fine_unit, called="the depth")
    per_cm = count_from(form, "count", "count_unit", called="the count")
    width = mm_of(form, "width", studio.length_unit, called="the finished width")
    spacing = mm_of(form, "spacing", fine_unit, called="the spacing", needed=False)
    band = mm_of(form, "band", fine_unit, called="the width of the drawn strip", needed=False, above=False)
    if form.wrong or tucks is None or depth is None or per_cm is None or width is None:
        return None
    return TucksAsk(tucks, depth, per_cm, width, spacing, band or 0, opening_inside=form.ticked("inside"))


def _told(ask: TucksAsk, plan: TucksPlan, studio: Studio) -> str:
    unit = studio.length_unit
    tucks = "1 tuck takes" if ask.tucks == 1 else f"{ask.tucks} tucks take"
    block, taken = measure(plan.block_width_mm * 1000, unit, 2), measure(plan.take_up_mm * 1000, unit, 2)
    return f"Cut the block {block} wide: {tucks} up {taken}."


def _figures(ask: TucksAsk, plan: TucksPlan, studio: Studio) -> tuple[tuple[str, str], ...]:
    unit = studio.length_unit
    band = (("Drawn strip, each side", f"{plan.band_threads} threads"),) if plan.band_threads else ()
    spacing = (("Fold to fold when made", fine(plan.spacing_mm, unit)),) if ask.tucks > 1 else ()
    return (
        ("Block", fine(plan.block_width_mm, unit)),
        ("Taken up", fine(plan.take_up_mm, unit)),
        *spacing,
        ("Fold to knotted line", f"{plan.depth_threads} threads"),
        *band,
        ("Counted by threads it finishes at", fine(plan.finished_by_thread_mm, unit)),
    )


def fill(source: Source) -> tuple[Filling, ...]:
    """The tucks of each panel, those of one depth and direction together."""
    found = []
    for panel in source.parts.panels:
        groups: dict[tuple[str | None, float, bool, int], list[Section]] = {}
        for section in source.parts.sections:
            drawn = source.drawn.get(section.key)
            if section.panel_id == panel.id and drawn is not None and drawn.depth_mm is not None:
                key = (section.direction, drawn.depth_mm, drawn.opening_inside, section.width_um or 0)
                groups.setdefault(key, []).append(section)
        found += [_filling(source, panel, sections) for sections in groups.values()]
    return tuple(found)


def _filling(source: Source, panel: Panel, sections: list[Section]) -> Filling:
    studio, first = source.studio, source.drawn[sections[0].key]
    is_down = sections[0].direction == "down"
    per_cm = panel.warp_per_cm if system_across(sections[0].direction) == "warp" else panel.weft_per_cm
    finished_um = panel.block_width_um if is_down else panel.block_height_um
    depth_mm = first.depth_mm or 0
    band_um = sections[0].width_um or 0 if sections[0].kind == "tuck_band" else 0
    middles = sorted(_middles_mm(panel.key, sections, is_down=is_down))
    gaps = [after - before for before, after in pairwise(middles)]
    edge = "left edge" if is_down else "top"
    fields = {
        "tucks": str(len(sections)),
        "depth": as_typed(depth_mm, FINE_UNIT[studio.length_unit]),
        "count": plain(count_in(per_cm, unit_called(studio.count_unit))),
        "count_unit": studio.count_unit,
        "width": as_typed(finished_um / 1000, studio.length_unit),
        "spacing": as_typed(sum(gaps) / len(gaps), FINE_UNIT[studio.length_unit]) if gaps else "",
        "band": as_typed(band_um / 1000, FINE_UNIT[studio.length_unit]) if band_um else "",
        "inside": "yes" if first.opening_inside else "",
    }
    where = fine(sum(middles) / len(middles), studio.length_unit) if middles else ""
    note = (
        f"On {panel.name} the middle of these tucks lies {where} from the {edge} of the finished block."
        if where
        else ""
    )
    deep = fine(depth_mm, studio.length_unit)
    tucks = f"{len(sections)} {'tuck' if len(sections) == 1 else 'tucks'} {deep} deep"
    return Filling(f"{panel.name}: {said(tucks)}, {said(per(per_cm, studio.count_unit))}", fields, note)


def _middles_mm(panel: str, sections: Iterable[Section], *, is_down: bool) -> Iterable[float]:
    for section in sections:
        for spot in read_places(section.places):
            if spot.panel == panel:
                for strip in spot.place.strips:
                    yield (strip.left + strip.right) / 2 if is_down else (strip.top + strip.bottom) / 2


PAGE = Page("tucks", frozenset({*FIELDS.values(), "count_unit", "inside"}), usual, answer, fill)
