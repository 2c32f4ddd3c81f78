"""What is odd about sections once they lie beside each other, and whether the maker has answered it."""

from collections.abc import Mapping

from service.reckoning import carry_findings
from service.reckoning.band_findings import DUST_MM, LEAST_BETWEEN_ROWS_MM
from service.reckoning.designs import SectionDesign
from service.reckoning.findings import Finding
from service.reckoning.on_cloth import OnCloth, WorkedSection
from service.reckoning.placing import crossings
from service.reckoning.plans import SectionChoice
from service.reckoning.section_work import ends_inside

ACCEPTABLE = ("odd_bundles", "uneven_bundle")  # what can be worked as it comes out, if the maker says so


def is_answered(finding: Finding, choice: SectionChoice) -> bool:
    """Return whether making the section need not wait for this finding.

    >>> is_answered(Finding("odd_bundles", "97 bundles.", waits=True), SectionChoice(accepted=True))
    True
    """
    return not finding.waits or (choice.accepted and finding.code in ACCEPTABLE)


def findings_beside(on: OnCloth, works: Mapping[str, WorkedSection]) -> dict[str, tuple[Finding, ...]]:
    """Return by section key what is odd between sections: crossings, bands too close, ends that nothing stops."""
    sections = {section.key: section for section in on.design.every_section}
    found: dict[str, list[Finding]] = {key: _of_one(on, section) for key, section in sections.items()}
    for panel in on.design.panels:
        covers = {
            key: tuple(rect for laid in work.laid if laid.panel == panel.key for rect in laid.covers)
            for key, work in works.items()
        }
        for one, other in crossings(covers):
            if not _is_corner(sections[one], sections[other]):
                found[one].append(carry_findings.crosses(sections[other].name))
                found[other].append(carry_findings.crosses(sections[one].name))
        for key, finding in _too_close(on, panel.key, sections):
            found[key].append(finding)
    return {key: tuple(findings) for key, findings in found.items()}


def _of_one(on: OnCloth, section: SectionDesign) -> list[Finding]:
    found = []
    if section.is_band and len({on.counts[placement.panel] for placement in section.placements}) > 1:
        found.append(carry_findings.counts_differ())
    inside = ends_inside(section)
    if section.is_band and not section.closed_round and inside > section.stop_lines:
        found.append(carry_findings.no_stop_line(inside, section.stop_lines))
    return found


def _too_close(on: OnCloth, panel: str, sections: Mapping[str, SectionDesign]) -> list[tuple[str, Finding]]:
    found = []
    for space in on.spaces[panel]:
        if not space.first or not (sections[space.first].is_band and sections[space.second.section].is_band):
            continue
        far_mm = on.distances[panel][space.first] + on.depths[space.first].reach_mm
        between_mm = on.distances[panel][space.second.section] - far_mm
        if between_mm < LEAST_BETWEEN_ROWS_MM - DUST_MM:
            first = sections[space.first].name
            found.append((space.second.section, carry_findings.bands_close(first, max(0.0, between_mm))))
    return found


def _is_corner(one: SectionDesign, other: SectionDesign) -> bool:
    named = other.key in one.corner_with or one.key in other.corner_with
    return named and one.stop_lines == 2 == other.stop_lines
