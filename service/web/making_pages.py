"""What the page of making a garment shows: each section beside what it was drawn up as, in words and figures."""

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from service.drawing.from_plan import Progress, shown_panels
from service.drawing.garment_map import garment_map
from service.reckoning.bands import LeftOverWay
from service.reckoning.designs import STRIP_KINDS
from service.reckoning.findings import Finding
from service.reckoning.plans import GarmentPlan, SectionFigures, SectionPlan, SpacePlan
from service.reckoning.section_findings import ACCEPTABLE
from service.records.tables import Cloth
from service.studio.making import Drafted
from service.web.amount_words import counted
from service.web.words import cloth_length, fine, hours, measure, mm, more_or_less, signed_mm, tidy

LEFT_OVER_WORDS: Mapping[LeftOverWay, str] = {
    "shorter": "stop the band some threads shorter",
    "longer": "run it some threads longer",
    "spread": "spread them one by one over the bundles",
    "into_seam": "let them vanish in the seam",
}
UM_PER_MM = 1000
HOURS_WHOLE_FROM, HALVES_FROM = 585, 55  # minutes: from here `hours` writes whole hours, from there halves


@dataclass(frozen=True, slots=True)
class Compared:
    """One figure as drawn up and on this cloth; `beside` says how far they are apart where that matters."""

    label: str
    before: str
    after: str
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One section with its mirrors: its figures, its findings, and what can be chosen."""

    plan: SectionPlan
    also: tuple[str, ...]
    panels: str
    compared: tuple[Compared, ...]
    findings: tuple[Finding, ...]
    left_over: tuple[tuple[str, str], ...]
    can_accept: bool

    @property
    def waits(self) -> bool:
        """Whether it waits for a choice."""
        return self.plan.waits


@dataclass(frozen=True, slots=True)
class Space:
    """A space between two bands, or beside one, in words and figures."""

    words: str
    before: str
    after: str
    apart: str


@dataclass(frozen=True, slots=True)
class Making:
    """A drafted garment as the page shows it: what is chosen piece by piece, what is plain, spaces, totals."""

    pieces: tuple[Piece, ...]
    plain: tuple[Piece, ...]
    spaces: tuple[Space, ...]
    totals: tuple[Compared, ...]
    waiting: tuple[Piece, ...]
    drawing: Markup
    findings: tuple[Finding, ...]


def making_of(drafted: Drafted, shelf: Mapping[int | None, Cloth], unit: str) -> Making:
    """The drafted garment as the page shows it; `unit` is what the studio measures in."""
    plan = drafted.plan
    every = tuple(_piece(plan, section, unit) for section in plan.sections if not section.mirror_of)
    waiting = [section.key for section in plan.sections if section.waits]
    drawing = garment_map(shown_panels(plan, Progress(needs_hand=waiting)), plan.name)
    return Making(
        pieces=tuple(piece for piece in every if _is_chosen(piece)),
        plain=tuple(piece for piece in every if not _is_chosen(piece)),
        spaces=_spaces(plan, unit),
        totals=_totals(plan),
        waiting=tuple(piece for piece in every if piece.waits),
        drawing=Markup(drawing),  # noqa: S704 (SVG of our own)
        findings=_cloth_findings(drafted, shelf, unit),
    )


def _is_chosen(piece: Piece) -> bool:
    """Whether a section is more than one line in a ledger: something is chosen for it, or was noticed."""
    return piece.plan.kind in STRIP_KINDS or bool(piece.findings)


def _piece(plan: GarmentPlan, section: SectionPlan, unit: str) -> Piece:
    mirrors = tuple(other for other in plan.sections if other.mirror_of == section.key)
    names = {panel.key: panel.name for panel in plan.panels}
    on = dict.fromkeys(names[key] for one in (section, *mirrors) for key in one.panels)
    findings = dict.fromkeys(finding for one in (section, *mirrors) for finding in one.findings)
    return Piece(
        plan=section,
        also=tuple(dict.fromkeys(other.name for other in mirrors if other.name != section.name)),
        panels=", ".join(on),
        compared=_compared(section, mirrors, unit),
        findings=tuple(sorted(findings, key=lambda finding: not finding.waits)),
        left_over=_left_over_options(section) if section.left_over_choices else (),
        can_accept=section.choice.accepted or any(one.waits and one.code in ACCEPTABLE for one in findings),
    )


def _compared(section: SectionPlan, mirrors: tuple[SectionPlan, ...], unit: str) -> tuple[Compared, ...]:
    """The figures of a section; what adds up to the garment's totals, knots and hours, is told with its mirrors."""
    was, now = section.before, section.after
    every = (section, *mirrors)
    rows = [
        _whole("Threads withdrawn", was.withdraw_threads, now.withdraw_threads),
        _depth(section, unit),
        *((_tuck_depth(was, now, unit),) if section.design.is_band and now.depth_mm is not None else ()),
        _whole("Standing threads", was.standing_threads, now.standing_threads),
        None
        if was.length_mm is None or now.length_mm is None
        else Compared("Length", _long(was.length_mm, unit), _long(now.length_mm, unit)),
        _bundles(was, now),
        _whole("Knots", was.knots or None, now.knots or None),
        _knots_of_all(every) if mirrors and was.knots and now.knots else None,
        Compared(
            _of_all(len(every)),
            hours(sum(one.before.seconds for one in every) * 1000),
            hours(sum(one.after.seconds for one in every) * 1000),
        ),
    ]
    return tuple(row for row in rows if row is not None)


def _of_all(sections: int) -> str:
    if sections == 1:
        return "Hours, guessed"
    return "Hours of both, guessed" if sections == 2 else f"Hours of all {sections}, guessed"


def _knots_of_all(every: tuple[SectionPlan, ...]) -> Compared:
    label = "Knots of both" if len(every) == 2 else f"Knots of all {len(every)}"
    before, after = sum(one.before.knots for one in every), sum(one.after.knots for one in every)
    return Compared(label, tidy(before, 0), tidy(after, 0))


def _whole(label: str, was: int | None, now: int | None) -> Compared | None:
    return None if was is None or now is None else Compared(label, tidy(was, 0), tidy(now, 0))


def _depth(section: SectionPlan, unit: str) -> Compared | None:
    """Of a band its withdrawn width, of a plain tuck its depth, of a binding or lace its finished width."""
    was, now = section.before, section.after
    label = "Depth of the band" if section.design.is_band else "Finished width"
    before, after = was.width_mm, now.width_mm
    if section.kind == "tuck":
        label, before, after = "Depth of the tuck", was.depth_mm, now.depth_mm
    if before is None or after is None:
        return None
    apart = more_or_less(section.error_mm, unit) if unit == "in" else signed_mm(section.error_mm)
    return Compared(label, _small(before, unit), _small(after, unit), "" if apart in {"exactly", "none"} else apart)


def _tuck_depth(was: SectionFigures, now: SectionFigures, unit: str) -> Compared:
    return Compared("Depth of the tuck", _small(was.depth_mm or 0, unit), _small(now.depth_mm or 0, unit))


def _bundles(was: SectionFigures, now: SectionFigures) -> Compared | None:
    if was.bundles is None or now.bundles is None:
        return None
    beside = f"{counted(now.left_over_threads * 10, 'thread')} beside them" if now.left_over_threads else ""
    if now.bundle_sizes:
        beside = f"of {min(now.bundle_sizes)} and {max(now.bundle_sizes)} threads"
    before, after = f"{tidy(was.bundles, 0)} of {was.bundle_threads}", f"{tidy(now.bundles, 0)} of {now.bundle_threads}"
    return Compared("Bundles", before, after, beside)


def _small(length_mm: float, unit: str) -> str:
    return fine(length_mm, unit) if unit == "in" else mm(length_mm)


def _long(length_mm: float, unit: str) -> str:
    return measure(length_mm * UM_PER_MM, unit)


def _left_over_options(section: SectionPlan) -> tuple[tuple[str, str], ...]:
    drawn_up = section.design.left_over
    return (
        ("", f"as drawn up: {LEFT_OVER_WORDS[drawn_up]}" if drawn_up else "choose"),
        *(
            (one.way, f"{LEFT_OVER_WORDS[one.way]}: {one.standing_threads} threads, {one.bundles} bundles")
            for one in section.left_over_choices
        ),
    )


def _spaces(plan: GarmentPlan, unit: str) -> tuple[Space, ...]:
    """Spaces between and beside bands, each with words for where it lies; those of mirrored sections told once."""
    first = {section.key: section.mirror_of or section.key for section in plan.sections}
    names = {section.key: section.name for section in plan.sections}
    panels = {panel.key: panel.name for panel in plan.panels}
    told: dict[tuple[str, ...], tuple[SpacePlan, list[str]]] = {}
    for space in plan.spaces:
        figures = _space(space.before_threads, space.before_mm, unit), _space(space.after_threads, space.after_mm, unit)
        key = first.get(space.first, ""), first[space.second], *figures, _apart(space, unit)
        told.setdefault(key, (space, []))[1].append(panels[space.panel])
    return tuple(
        Space(_lying(space, ", ".join(dict.fromkeys(on)), (names.get(key[0], ""), names[key[1]])), *key[2:])
        for key, (space, on) in told.items()
    )


def _lying(space: SpacePlan, panels: str, between: tuple[str, str]) -> str:
    """Where a space lies: on which panels, and between which two sections, or an edge and a section."""
    first_name, second_name = between
    if first_name:
        return f"{panels}: from {first_name} to {second_name}"
    return {
        "top": f"{panels}: from the top edge to {second_name}",
        "bottom": f"{panels}: from the bottom edge to {second_name}",
        "left": f"{panels}: from the left edge to {second_name}",
        "right": f"{panels}: from the right edge to {second_name}",
    }[space.edge]


def _space(threads: int, length_mm: float, unit: str) -> str:
    return f"{tidy(threads, 0)} threads, {_small(length_mm, unit)}"


def _apart(space: SpacePlan, unit: str) -> str:
    return more_or_less(space.error_mm, unit) if unit == "in" else signed_mm(space.error_mm)


def _totals(plan: GarmentPlan) -> tuple[Compared, ...]:
    """Knots and hours of the whole garment: the rows of hours add up as they are written, and so does what is more."""
    more = plan.knots_after - plan.knots_before
    apart = f"{tidy(abs(more), 0)} {'more' if more > 0 else 'fewer'}" if more else ""
    step = _step_minutes(plan.seconds_after)
    before = _in_parts(plan.seconds_before, plan.panel_seconds, step)
    after = _in_parts(plan.seconds_after, plan.panel_seconds, step)
    longer = sum(after) - sum(before)
    beside = f"{_written(abs(longer))} {'more' if longer > 0 else 'less'}" if longer else ""
    return (
        Compared("Knots", tidy(plan.knots_before, 0), tidy(plan.knots_after, 0), apart),
        Compared("Hours of the sections, guessed", _written(before[0]), _written(after[0])),
        Compared("Hours of the panels: cutting, washing, tracing, pressing", _written(before[1]), _written(after[1])),
        Compared("Hours altogether, guessed", _written(sum(before)), _written(sum(after)), beside),
    )


def _step_minutes(seconds: float) -> int:
    """How coarse `hours` writes that time."""
    minutes = seconds / 60
    return 60 if minutes >= HOURS_WHOLE_FROM else 30 if minutes >= HALVES_FROM else 5


def _in_parts(seconds: float, of_panels: float, step: int) -> tuple[int, int]:
    """Minutes of the sections and of the panels, in whole steps, adding up to those of both.

    >>> _in_parts(11.8 * 3600, 4.4 * 3600, 60), _in_parts(9.4 * 3600, 4.4 * 3600, 30), _in_parts(1800, 0, 5)
    ((480, 240), (300, 270), (30, 0))
    """
    whole, panels = (step * round(part / 60 / step) for part in (seconds, of_panels))
    panels = min(max(panels, step if of_panels else 0), whole)
    return whole - panels, panels


def _written(minutes: int) -> str:
    """Minutes that were rounded already, with nothing rounded away: by halves of an hour where they are whole halves.

    >>> _written(0), _written(30), _written(60), _written(630)
    ('nothing', '30 min', '1 h', '10½ h')
    """
    if minutes % 30 or minutes < 60:
        return f"{minutes} min" if minutes else "nothing"
    whole, half = divmod(minutes // 30, 2)
    return f"{whole}{'½' if half else ''} h"


def _cloth_findings(drafted: Drafted, shelf: Mapping[int | None, Cloth], unit: str) -> tuple[Finding, ...]:
    """Whether the blocks fit the cloths chosen: their width, and the length on hand if cut one below the other."""
    found: list[Finding] = []
    needed_mm: dict[int, float] = {}
    for panel in drafted.plan.panels:
        cloth = shelf.get(drafted.cloth_ids.get(panel.key, drafted.cloth_ids[panel.cloth]))
        if cloth is None or cloth.id is None:
            continue
        needed_mm[cloth.id] = needed_mm.get(cloth.id, 0) + panel.cut_height_mm
        if panel.cut_width_mm * UM_PER_MM > cloth.width_um:
            found.append(
                Finding(
                    "cloth_too_narrow",
                    f"The block of {panel.name} is {_long(panel.cut_width_mm, unit)} wide, {cloth.name} only "
                    f"{measure(cloth.width_um, unit)}.",
                )
            )
    for cloth_id, length_mm in needed_mm.items():
        cloth = shelf[cloth_id]
        if length_mm * UM_PER_MM > cloth.on_hand_um:
            found.append(
                Finding(
                    "cloth_too_short",
                    f"Cut one below the other the blocks take {cloth_length(length_mm * UM_PER_MM, unit)} of "
                    f"{cloth.name}; {cloth_length(cloth.on_hand_um, unit)} are on hand.",
                )
            )
    return tuple(found)
