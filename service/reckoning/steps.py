"""The steps of panels and sections, in the one order that cannot ruin the cloth, with exact quantities.

Each step is one operation; its unit is the operation's own, lengths in cm to 0.1.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from service.reckoning.asked import Wrong, not_below, whole
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.bands import BandPlan
from service.reckoning.operations import Amount, amount, operation_named

PlainKind = Literal["tuck", "binding", "seam", "lace", "motif", "closure"]
PLAIN_KINDS: tuple[PlainKind, ...] = get_args(PlainKind)
SECTION_KINDS: tuple[str, ...] = (*BAND_KINDS, *PLAIN_KINDS)

BASTED_KINDS = ("hem_band", "tuck_band")  # two layers, folded thread over thread before they are knotted

_NOTES = {
    "cut_block": "Cut larger than the outline: the block is worked first and cut out last.",
    "press": "Straighten the block by a drawn thread.",
    "trace": "Only what the bands refer to; where tucks will move a line, only as a guide.",
    "mark": "Along one thread.",
    "edge_stitch": "On the stop line's thread, every stitch: nothing is clipped before this is complete.",
    "clip": "From the back, only threads that run along the band, never a standing thread.",
    "withdraw": "Only clipped threads, one at a time.",
    "secure": "The open ends, before the cutting line is cut.",
    "retrace": "Lay the pattern over the worked block again.",
    "cut_out": "Only when every section of this panel is complete.",
}


_NOTHING_CLIPPED = "One thread at a time, drawn out past the edges: nothing is clipped here."


@dataclass(frozen=True, slots=True)
class StepPlan:
    """One step as planned; `cannot_be_undone` marks cloth that is gone once it is done."""

    operation: str
    unit: str
    quantity: float
    cannot_be_undone: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class PanelSteps:
    """A panel's own steps: those before its sections are worked, and those after."""

    before: tuple[StepPlan, ...]
    after: tuple[StepPlan, ...]


@dataclass(frozen=True, slots=True)
class PlainWork:
    """What a section without drawn threads comes to.

    `length_mm` along the tuck, edge, seam or lace; `cut_length_mm` of bias to cut (left out, the edge's own length)
    and its `joins`; the `number` of motifs or closures.
    """

    length_mm: float = 0.0
    cut_length_mm: float | None = None
    joins: int = 0
    number: int = 0


def panel_steps() -> PanelSteps:
    """Return a panel's own steps in order, one panel each.

    >>> steps = panel_steps()
    >>> [step.operation for step in (*steps.before, *steps.after)]
    ['cut_block', 'wash', 'press', 'trace', 'retrace', 'cut_out']
    """
    return PanelSteps(
        before=_steps(amount(name, 1) for name in ("cut_block", "wash", "press", "trace")),
        after=_steps(amount(name, 1) for name in ("retrace", "cut_out")),
    )


def section_steps(
    kind: str,
    work: BandPlan | PlainWork,
    *,
    at_cutting_line: int = 0,
    folded_first: bool = False,
    clip_inside_threads: int | None = None,
) -> tuple[StepPlan, ...]:
    """Return a section's steps in order: a band from its plan, any other kind from its lengths and numbers.

    For bands only: `at_cutting_line` is how many open ends reach the cutting line and are secured there;
    `folded_first` says that a facing is folded and basted before the band is placed inside its edge;
    `clip_inside_threads` is how many threads behind the stop line to clip. Raises Wrong for an unknown kind,
    or work that is not that kind's.

    >>> [(step.operation, step.quantity) for step in section_steps("lace", PlainWork(length_mm=304))]
    [('lace', 30.4)]
    """
    if kind not in SECTION_KINDS:
        raise Wrong("kind", f"must be one of {', '.join(SECTION_KINDS)}, not {kind!r}")
    if isinstance(work, BandPlan):
        if kind != work.ask.kind:
            raise Wrong("kind", f"{kind!r} is not the kind this band was planned as, {work.ask.kind!r}")
        parts = _band_work(work, at_cutting_line, folded_first=folded_first)
        notes = {"clip": _clip_note(clip_inside_threads)}
        if not any(part.operation == "clip" and part.quantity for part in parts):
            notes["withdraw"] = _NOTHING_CLIPPED
        return _steps(parts, notes)
    if kind in BAND_KINDS:
        raise Wrong("work", f"a {kind} needs the plan of its band")
    return _steps(_plain_work(kind, work))


def _band_work(plan: BandPlan, at_cutting_line: int, *, folded_first: bool) -> tuple[Amount, ...]:
    knots = tuple(part for part in plan.operations if part.unit == "knot")
    threads = tuple(part for part in plan.operations if part.unit != "knot")
    length_cm = sum(plan.bundle_sizes) / plan.ask.standing_threads_per_cm
    folded = (amount("baste", length_cm),) if folded_first or plan.ask.kind in BASTED_KINDS else ()
    secured = (amount("secure", _secured_cm(plan, at_cutting_line)),)
    if folded_first:
        return (*folded, *threads, *knots, *secured)
    return (*threads, *folded, *knots, *secured)


def _secured_cm(plan: BandPlan, at_cutting_line: int) -> float:
    """The band's width at each open end that the cutting line will cross (common practice, no source)."""
    open_ends = 0 if plan.ask.closed_round else 2 - plan.ask.stop_lines
    ends = whole("at_cutting_line", at_cutting_line, 0, 2)
    if ends > open_ends:
        raise Wrong("at_cutting_line", f"this band has {open_ends} open ends, not {ends}")
    strips = 2 if plan.ask.kind == "tuck_band" else 1
    return strips * ends * plan.width_mm / 10


def _plain_work(kind: str, work: PlainWork) -> tuple[Amount, ...]:
    length_cm = not_below("length_mm", work.length_mm) / 10
    number = whole("number", work.number, least=0)
    if kind == "tuck":  # two stitching lines meet when it is folded: common practice, no source
        return (amount("mark", 2 * length_cm), amount("baste", length_cm), amount("seam", length_cm))
    if kind == "binding":
        cut_mm = work.length_mm if work.cut_length_mm is None else work.cut_length_mm
        return (
            amount("cut_bias", not_below("cut_length_mm", cut_mm) / 10),
            amount("bias_join", whole("joins", work.joins, least=0)),
            amount("stitch_bias", length_cm),
            amount("whip_bias", length_cm),
        )
    if kind == "motif":
        return (amount("embroider", number),)
    if kind == "closure":
        return (amount("closure", number),)
    return (amount(kind, length_cm),)


def _steps(work: Iterable[Amount], notes: dict[str, str] | None = None) -> tuple[StepPlan, ...]:
    said = _NOTES | (notes or {})
    return tuple(
        StepPlan(
            part.operation,
            part.unit,
            part.quantity,
            operation_named(part.operation).cannot_be_undone,
            said.get(part.operation, ""),
        )
        for part in work
        if part.quantity
    )


def _clip_note(clip_inside_threads: int | None) -> str:
    if clip_inside_threads is None:
        return _NOTES["clip"]
    inside = whole("clip_inside_threads", clip_inside_threads, 0, 100)
    where = {0: "Right behind the stop line.", 1: "One thread behind the stop line."}
    return f"{_NOTES['clip']} {where.get(inside, f'{inside} threads behind the stop line.')}"
