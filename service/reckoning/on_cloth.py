"""A whole design on one set of cloths: how deep everything is, where it lies, and what work it makes."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.reckoning.asked import Wrong
from service.reckoning.bands import LeftOverWay
from service.reckoning.counts import threads_in, width_of
from service.reckoning.depths import Depth, carried_depth, drawn_depth
from service.reckoning.designs import STRIP_KINDS, ClothCounts, Design, PanelDesign, SectionDesign
from service.reckoning.findings import Finding
from service.reckoning.laying import LaidSection, ToLay, lay_section, with_stop_moved
from service.reckoning.outlines import outline_points
from service.reckoning.placing import along
from service.reckoning.plans import SectionChoice
from service.reckoning.section_work import SectionWork, Stretch, carried_bundle, open_ends, work_on
from service.reckoning.spaces import Covered, Space, carried_distances, spaces_between
from service.reckoning.tucks import take_up_mm

MOVES_A_STOP: tuple[LeftOverWay, ...] = ("shorter", "longer")


@dataclass(frozen=True, slots=True)
class OnCloth:
    """A drawn-up design on its cloths: counts by panel and by role; depth and bundle by section; spaces and
    distances inside their edges by panel and section. `fixed_mm` are the lengths the design itself fixes.
    """

    design: Design
    counts: Mapping[str, ClothCounts]
    roles: Mapping[str, ClothCounts]
    depths: Mapping[str, Depth]
    bundles: Mapping[str, int]
    fixed_mm: Mapping[str, float]
    spaces: Mapping[str, tuple[Space, ...]]
    distances: Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class WorkedSection:
    """A section laid and reckoned on one set of cloths."""

    counts: ClothCounts
    depth: Depth | None
    laid: tuple[LaidSection, ...]
    work: SectionWork
    findings: tuple[Finding, ...]


def as_drawn(design: Design) -> OnCloth:
    """Return the drawn-up design on the cloths it was drawn up for."""
    counts = {panel.key: design.counts(panel.cloth) for panel in design.panels}
    strips = [section for section in design.every_section if section.kind in STRIP_KINDS]
    depths = {
        section.key: drawn_depth(section, section.direction, counts[section.placements[0].panel])
        for section in strips
        if section.direction is not None
    }
    spaces = {panel.key: spaces_between(_covered(panel.key, strips, depths)) for panel in design.panels}
    return OnCloth(
        design=design,
        counts=counts,
        roles={cloth.role: cloth.counts for cloth in design.cloths},
        depths=depths,
        bundles={section.key: section.bundle_threads for section in strips},
        fixed_mm=_fixed_lengths(strips, counts),
        spaces=spaces,
        distances=_distances(spaces, depths, counts),
    )


def carried(
    drawn: OnCloth,
    counts: Mapping[str, ClothCounts],
    roles: Mapping[str, ClothCounts],
    choices: Mapping[str, SectionChoice],
) -> OnCloth:
    """Return the design carried to other cloths, by panel and by role, with a choice for every section."""
    depths, bundles = {}, {}
    for section in drawn.design.every_section:
        if section.kind in STRIP_KINDS and section.direction is not None:
            panel, choice = section.placements[0].panel, choices[section.key]
            cloths = (drawn.counts[panel], counts[panel])
            depths[section.key] = carried_depth(section, section.direction, cloths, choice.depth)
            bundles[section.key] = carried_bundle(section, section.direction, cloths, choice.bundle)
    distances = _distances(drawn.spaces, depths, counts)
    return replace(drawn, counts=counts, roles=roles, depths=depths, bundles=bundles, distances=distances)


def worked(on: OnCloth, section: SectionDesign, way: LeftOverWay | None) -> WorkedSection:
    """Return the section laid and reckoned; `way` None takes the design's own way with odd threads."""
    to_lay = [_to_lay(on, section, at) for at in range(len(section.placements))]
    laid = tuple(lay_section(one) for one in to_lay)
    counts = _counts(on, section)
    work = work_on(section, counts, _stretch(on, section, laid), way or section.left_over)
    if work.left_over in MOVES_A_STOP and len(laid) == 1 and len(laid[0].place.strips) == 1:
        laid = (lay_section(with_stop_moved(to_lay[0], laid[0], work.figures.length_mm or 0)),)
    findings = (*(finding for one in laid for finding in one.findings), *work.findings)
    return WorkedSection(counts, on.depths.get(section.key), laid, work, findings)


def cut_size(on: OnCloth, panel: PanelDesign, works: Mapping[str, WorkedSection]) -> tuple[float, float]:
    """Return the width and height in mm to cut a panel's block: its own, and what its tucks take up.

    Tucks that lie beside each other add up; those that share no part of their length do not.
    """
    taken = {"down": 0.0, "across": 0.0}
    tucks = [
        (section, piece)
        for section in on.design.every_section
        for laid in works[section.key].laid
        for piece in laid.place.strips
        if section.depth_mm is not None and laid.panel == panel.key
    ]
    for section, piece in tucks:
        if section.direction is None:
            continue
        start, _ = along(piece, section.direction)
        beside = [
            other
            for other, rect in tucks
            if other.direction == section.direction
            and along(rect, section.direction)[0] <= start < along(rect, section.direction)[1]
        ]
        total = sum(_take_up(on, other) for other in beside)
        taken[section.direction] = max(taken[section.direction], total)
    return panel.block_width_mm + taken["down"], panel.block_height_mm + taken["across"]


def _distances(
    spaces: Mapping[str, tuple[Space, ...]], depths: Mapping[str, Depth], counts: Mapping[str, ClothCounts]
) -> dict[str, dict[str, float]]:
    reach = {key: depth.reach_mm for key, depth in depths.items()}
    return {
        panel: carried_distances(
            between, reach, {"across": counts[panel].weft_per_cm, "down": counts[panel].warp_per_cm}
        )
        for panel, between in spaces.items()
    }


def _take_up(on: OnCloth, section: SectionDesign) -> float:
    depth = on.depths[section.key]
    return take_up_mm(depth.depth_mm or 0, depth.width_mm or 0, opening_inside=section.opening_inside)


def _to_lay(on: OnCloth, section: SectionDesign, at: int) -> ToLay:
    placement = section.placements[at]
    return ToLay(
        section,
        placement,
        outline_points(on.design.panel(placement.panel)),
        on.depths.get(section.key),
        on.distances[placement.panel].get(section.key, 0),
        on.fixed_mm.get(section.key),
    )


def _stretch(on: OnCloth, section: SectionDesign, laid: tuple[LaidSection, ...]) -> Stretch:
    seams = [placement.seams_mm for placement in section.placements]
    lengths = [max(0.0, one.length_mm - lost) for one, lost in zip(laid, seams, strict=True)]
    if section.kind not in STRIP_KINDS:
        number = section.number or sum(len(one.place.points) for one in laid)
        drawn_mm = lengths[0] if section.kind == "seam" and lengths else sum(lengths)
        return Stretch(drawn_mm if section.length_mm is None else section.length_mm, number=number)
    fixed_mm = on.fixed_mm.get(section.key)
    threads = [
        threads_in(length_mm, on.counts[one.panel].standing_per_cm(section.direction or "across"))
        for one, length_mm in zip(laid, lengths if fixed_mm is None else [fixed_mm], strict=False)
    ]
    return Stretch(
        length_mm=sum(lengths) if fixed_mm is None else fixed_mm,
        depth=on.depths[section.key],
        standing_threads=sum(threads),
        bundle_threads=on.bundles[section.key],
        open_ends=open_ends(section),
        room_mm=sum(one.room_mm - lost for one, lost in zip(laid, seams, strict=True)),
    )


def _counts(on: OnCloth, section: SectionDesign) -> ClothCounts:
    if not section.cloth:
        return on.counts[section.placements[0].panel]
    if section.cloth not in on.roles:
        raise Wrong(f"cloths.{section.cloth}", f"choose a cloth for {section.name}")
    return on.roles[section.cloth]


def _fixed_lengths(strips: list[SectionDesign], counts: Mapping[str, ClothCounts]) -> dict[str, float]:
    found = {}
    for section in strips:
        if section.standing_threads is not None and section.direction is not None:
            per_cm = counts[section.placements[0].panel].standing_per_cm(section.direction)
            found[section.key] = width_of(section.standing_threads, per_cm)
        elif section.length_mm is not None:
            found[section.key] = section.length_mm
    return found


def _covered(panel: str, strips: list[SectionDesign], depths: Mapping[str, Depth]) -> list[Covered]:
    found = []
    for section in strips:
        for placement in section.placements:
            if placement.panel == panel and placement.edge and section.direction:
                near_mm, far_mm = depths[section.key].covered(placement.distance_mm)
                span = (
                    float("-inf") if placement.from_mm is None else placement.from_mm,
                    float("inf") if placement.to_mm is None else placement.to_mm,
                )
                found.append(Covered(section.key, section.direction, placement.edge, near_mm, far_mm, span))
    return found
