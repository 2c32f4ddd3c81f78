"""A section recounted at the table: its figures, steps and the ways open to its odd threads."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BandKind
from service.reckoning.bands import LeftOverWay
from service.reckoning.designs import ClothCounts, Placement, SectionDesign
from service.reckoning.section_work import ends_inside, felt_count, open_ends, replan_section

LINEN = ClothCounts(20, 19)
LADDER = SectionDesign(
    "front.ladder",
    "Ladder",
    "ladder",
    placements=(Placement("front", "bottom", 60, from_mm=40),),
    direction="across",
    withdraw_threads=18,
)


def test_recount_of_the_standing_threads_re_reckons_bundles_knots_and_steps() -> None:
    """391 standing threads, not 396: 97 bundles of four, and three threads left over."""
    found = replan_section(LADDER, LINEN, standing_threads=391)
    assert (found.figures.bundles, found.figures.left_over_threads, found.figures.knots) == (97, 3, 194)
    assert [finding.code for finding in found.findings] == ["left_over"]
    assert [(choice.way, choice.standing_threads) for choice in found.choices] == [
        ("shorter", 388),
        ("longer", 392),
        ("spread", 391),
        ("into_seam", 388),
    ]
    settled = replan_section(LADDER, LINEN, standing_threads=391, way="spread")
    assert (sum(settled.figures.bundle_sizes), settled.findings, settled.left_over) == (391, (), "spread")


def test_recount_of_the_withdrawn_threads_re_reckons_the_width_and_the_clips() -> None:
    found = replan_section(LADDER, LINEN, withdraw_threads=17, standing_threads=396)
    assert found.figures.width_mm == pytest.approx(170 / 19)
    assert {step.operation: step.quantity for step in found.steps} == {
        "mark": 40.5,
        "edge_stitch": 0.9,
        "clip": 17,
        "withdraw": 17,
        "ladder_knot": 198,
        "secure": 0.9,
    }


def test_recount_keeps_the_designs_own_way_with_odd_threads() -> None:
    own = replace(LADDER, left_over="shorter")
    assert replan_section(own, LINEN, standing_threads=391).figures.standing_threads == 388
    assert replan_section(own, LINEN, standing_threads=391, way="longer").figures.standing_threads == 392


@pytest.mark.parametrize(
    ("section", "standing", "field"),
    [
        (SectionDesign("side", "Side seam", "seam", length_mm=100), 100, "kind"),
        (LADDER, 0, "standing_threads"),
        (LADDER, -391, "standing_threads"),
        (LADDER, 10_000_000, "standing_threads"),
    ],
    ids=["a seam", "none", "fewer than none", "more than a bolt"],
)
def test_recount_of_nonsense_is_refused(section: SectionDesign, standing: int, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        replan_section(section, LINEN, standing_threads=standing)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("limits", "stop_lines", "inside", "open_at_outline"),
    [
        ((None, None), 0, 0, 2),
        ((None, None), 1, 0, 1),
        ((40, None), 1, 1, 1),
        ((40, None), 2, 1, 0),
        ((40, 90), 2, 2, 0),
        ((40, 90), 0, 2, 0),
    ],
)
def test_open_ends_are_those_at_the_outline_without_a_stop_line(
    limits: tuple[float | None, float | None], stop_lines: int, inside: int, open_at_outline: int
) -> None:
    placed = (Placement("front", "bottom", 60, from_mm=limits[0], to_mm=limits[1]),)
    band = replace(LADDER, placements=placed, stop_lines=stop_lines)
    assert (ends_inside(band), open_ends(band)) == (inside, open_at_outline)
    assert open_ends(replace(band, owner="garment")) == 0


def test_count_felt_is_that_of_the_system_the_operation_handles() -> None:
    assert felt_count("withdraw", "across", LINEN) == 19
    assert felt_count("ladder_knot", "across", LINEN) == 20
    assert felt_count("withdraw", "down", LINEN) == 20
    assert felt_count("wash", "down", LINEN) is None


@given(
    st.sampled_from(["hem_band", "ladder", "ladder_paired", "serpentine", "alternating"]),
    st.integers(1, 5000),
    st.integers(1, 60),
    st.integers(2, 8),
    st.sampled_from(["shorter", "longer", "spread", "into_seam", None]),
    st.booleans(),
)
def test_recount_never_loses_a_thread(
    kind: BandKind, standing: int, withdrawn: int, bundle: int, way: LeftOverWay | None, closed: bool
) -> None:
    band = replace(LADDER, kind=kind, closed_round=closed)
    found = replan_section(
        band, LINEN, withdraw_threads=withdrawn, standing_threads=standing, bundle_threads=bundle, way=way
    )
    figures = found.figures
    assert figures.standing_threads is not None
    bundled = sum(figures.bundle_sizes) or (figures.bundles or 0) * bundle
    assert bundled + figures.left_over_threads == figures.standing_threads
    if found.left_over in {None, "spread", "into_seam"}:
        assert figures.standing_threads == standing
    if found.left_over is not None:
        assert figures.left_over_threads == 0 or found.left_over == "into_seam"
