"""The reckoner's page for bias bindings: how wide to cut, how much cloth, how the strips are joined."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.drawing.bias_drawing import bias_drawing, join_drawing
from service.drawing.bound_edge_drawing import bound_edge_drawing
from service.reckoning.asked import Wrong
from service.reckoning.bias import CLEAR_MM, JOIN_SEAM_MM, BiasAsk, BiasPlan, Fold, plan_bias
from service.reckoning.centre_front import centre_front_mm
from service.reckoning.piecing import Piece
from service.reckoning.strips import join_loss_mm
from service.reckoning.tube import TubeAsk, TubePlan, plan_tube
from service.records.tables import Section, Studio
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_making import FINE_UNIT, Answer, Filling, Page, Source, as_typed, mm_of
from service.web.words import fine, measure

FOLDS: dict[str, Fold] = {"double": "double", "single": "single"}
FIELDS = {
    "finished_width_mm": "finished",
    "fold": "fold",
    "binding_seam_mm": "seam",
    "edge_mm": "edge",
    "join_seam_mm": "join_seam",
    "cloth_width_mm": "cloth_width",
    "cloth_height_mm": "cloth_height",
    "shortest_strip_mm": "shortest",
    "keep_clear_at_mm": "clear_at",
    "clear_mm": "clear",
}
MOST_PIECES = 40


@dataclass(frozen=True, slots=True)
class Pieced:
    """Where the strips fall along the edge, those left out, and the same length cut as one continuous strip."""

    pieces: tuple[Piece, ...]
    left_out: int
    tube: TubePlan | None


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    return {"fold": "double", "join_seam": as_typed(JOIN_SEAM_MM, FINE_UNIT[studio.length_unit])}


def answer(form: Form, studio: Studio) -> Answer | None:
    """The strips for an edge, and the cloth they take."""
    ask = _ask(form, studio)
    if ask is None:
        return None
    try:
        plan = plan_bias(ask)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
        return None
    pieced = Pieced(plan.pieces[:MOST_PIECES], max(0, len(plan.pieces) - MOST_PIECES), _tube(ask, plan))
    return Answer(
        _told(ask, plan, studio),
        _figures(ask, plan, studio),
        plan.findings,
        plan.notes,
        (bias_drawing(plan), bound_edge_drawing(plan), join_drawing(plan.join)),
        pieced,
    )


def _ask(form: Form, studio: Studio) -> BiasAsk | None:
    unit = studio.length_unit
    fine_unit = FINE_UNIT[unit]
    finished = mm_of(form, "finished", fine_unit, called="the finished width")
    fold = FOLDS.get(form.choice("fold", FOLDS, called="single or double"))
    seam = mm_of(form, "seam", fine_unit, called="the binding seam", needed=False)
    edge = mm_of(form, "edge", unit, called="the length of the edge")
    join_seam = mm_of(form, "join_seam", fine_unit, called="the seam of a join", above=False)
    width = mm_of(form, "cloth_width", unit, called="the width of the cloth")
    height = mm_of(form, "cloth_height", unit, called="the length of the piece", needed=False)
    shortest = mm_of(form, "shortest", unit, called="the shortest strip", needed=False, above=False)
    clear = _places(form, unit)
    margin = mm_of(form, "clear", fine_unit, called="how far joins keep away", needed=False, above=False)
    if form.wrong or finished is None or fold is None or edge is None or width is None or join_seam is None:
        return None
    return BiasAsk(
        finished,
        fold,
        edge,
        width,
        height,
        seam,
        join_seam,
        closed=form.ticked("closed"),
        shortest_strip_mm=shortest or 0,
        keep_clear_at_mm=clear,
        clear_mm=CLEAR_MM if margin is None else margin,
    )


def _places(form: Form, unit: str) -> tuple[float, ...]:
    """The places to keep clear of joins, typed one after another with semicolons between."""
    typed = [part for part in form.raw("clear_at").split(";") if part.strip()]
    each = Form({str(at): part for at, part in enumerate(typed)})
    found = [mm_of(each, str(at), unit, called="the place to keep clear", above=False) for at in range(len(typed))]
    for sentence in each.errors.values():
        form.fault("clear_at", sentence)
    return tuple(place for place in found if place is not None)


def _told(ask: BiasAsk, plan: BiasPlan, studio: Studio) -> str:
    unit = studio.length_unit
    cut = f"Cut the strips {fine(plan.cut_width_mm, unit)} wide"
    if ask.cloth_height_mm is None:
        return f"{cut}, from {measure(plan.cloth_height_mm * 1000, unit, 2)} of this cloth along the warp at least."
    run, edge = measure(plan.usable_mm * 1000, unit), measure(ask.edge_mm * 1000, unit)
    if plan.enough:
        return f"{cut}: this piece gives {run} joined, and the edge takes {edge}."
    return f"{cut}: this piece gives only {run} joined, and the edge takes {edge}."


def _figures(ask: BiasAsk, plan: BiasPlan, studio: Studio) -> tuple[tuple[str, str], ...]:
    unit = studio.length_unit
    one = plan.one_strip_height_mm
    in_one = () if one is None else (("In one strip, without a join", measure(one * 1000, unit, 2)),)
    return (
        ("Width to cut", fine(plan.cut_width_mm, unit)),
        ("Strips of this piece", f"{len(plan.strips)}, joined {measure(plan.usable_mm * 1000, unit)}"),
        ("Strips that the edge takes", str(len(plan.pieces)) if plan.pieces else "more than it gives"),
        ("One join takes", fine(join_loss_mm(ask.join_seam_mm), unit)),
        ("Least cloth along the warp", measure(plan.cloth_height_mm * 1000, unit, 2)),
        *in_one,
    )


def _tube(ask: BiasAsk, plan: BiasPlan) -> TubePlan | None:
    """The same length as one continuous strip; none where no square of that size can be cut so."""
    length_mm = ask.edge_mm + (join_loss_mm(ask.join_seam_mm) if ask.closed else 0)
    try:
        return plan_tube(TubeAsk(plan.cut_width_mm, length_mm, ask.join_seam_mm))
    except Wrong:
        return None


def fill(source: Source) -> tuple[Filling, ...]:
    """The garment's bindings: those of one width and cloth together, then each by itself."""
    groups: dict[tuple[float, float, str], list[Section]] = {}
    for section in source.parts.sections:
        drawn = source.drawn.get(section.key)
        if section.kind == "binding" and section.length_um and drawn is not None and drawn.finished_width_mm:
            key = (drawn.finished_width_mm, drawn.binding_seam_mm or 0, drawn.cloth)
            groups.setdefault(key, []).append(section)
    together = [_filling(source, sections) for sections in groups.values() if len(sections) > 1]
    alone = [_filling(source, [section]) for sections in groups.values() for section in sections]
    return (*together, *alone)


def _filling(source: Source, sections: list[Section]) -> Filling:
    unit = source.studio.length_unit
    drawn = source.drawn[sections[0].key]
    edge_mm = sum(section.length_um or 0 for section in sections) / 1000
    cloth = _cloth_width_mm(source, drawn.cloth)
    fields = {
        "finished": as_typed(drawn.finished_width_mm or 0, FINE_UNIT[unit]),
        "fold": "double",
        "seam": as_typed(drawn.binding_seam_mm, FINE_UNIT[unit]) if drawn.binding_seam_mm else "",
        "edge": as_typed(edge_mm, unit),
        "clear_at": "; ".join(as_typed(place, unit, 2) for place in _centre_fronts_mm(source, sections)),
        "cloth_width": "" if cloth is None else as_typed(cloth, unit),
    }
    name = sections[0].name if len(sections) == 1 else f"all {len(sections)} bindings of this width"
    left_out = [] if len(sections) == 1 else ["The edges are bound one after another from one joined run."]
    if cloth is None:
        left_out.append("Fill in the width of the cloth that the binding is cut from.")
    return Filling(f"{name}, {measure(edge_mm * 1000, unit)}", fields, " ".join(left_out))


def _centre_fronts_mm(source: Source, sections: list[Section]) -> Iterator[float]:
    """Where the centre front lies along these edges, bound one after another."""
    panels = {panel.key: panel for panel in source.design.panels}
    before_mm = 0.0
    for section in sections:
        edge_mm = (section.length_um or 0) / 1000
        for place in centre_front_mm(source.drawn[section.key], panels):
            yield before_mm + min(place, edge_mm)
        before_mm += edge_mm


def _cloth_width_mm(source: Source, role: str) -> float | None:
    for panel in source.parts.panels:
        if panel.cloth_role == role:
            return source.cloths[panel.cloth_id].width_um / 1000
    return None


PAGE = Page("bias", frozenset({*FIELDS.values(), "closed"}), usual, answer, fill)
