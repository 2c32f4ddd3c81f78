"""How deep a strip reaches, on any cloth: whole threads, nothing below zero, and never past what it covers."""

from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.counts import width_of
from service.reckoning.depths import carried_depth, drawn_depth, recounted_depth
from service.reckoning.designs import ClothCounts, Direction, Placement, SectionDesign

AT = (Placement("front", "bottom", 100),)
CLOTHS = st.builds(ClothCounts, st.floats(8, 60), st.floats(8, 60))
SECTIONS = st.one_of(
    st.builds(
        lambda threads: SectionDesign("a", "A", "ladder", placements=AT, withdraw_threads=threads), st.integers(1, 60)
    ),
    st.builds(lambda deep: SectionDesign("a", "A", "tuck", placements=AT, depth_mm=deep), st.floats(2, 60)),
    st.builds(
        lambda threads, deep, inside: SectionDesign(
            "a", "A", "tuck_band", placements=AT, withdraw_threads=threads, depth_mm=deep, opening_inside=inside
        ),
        st.integers(1, 60),
        st.floats(2, 60),
        st.booleans(),
    ),
)
DIRECTIONS: st.SearchStrategy[Direction] = st.sampled_from(("across", "down"))


@given(SECTIONS, DIRECTIONS, CLOTHS)
def test_a_strip_lies_within_what_its_section_covers(
    section: SectionDesign, direction: Direction, cloth: ClothCounts
) -> None:
    depth = drawn_depth(section, direction, cloth)
    assert 0 <= depth.near_mm <= depth.far_mm <= depth.reach_mm
    assert depth.fold_mm is None or 0 <= depth.fold_mm <= depth.near_mm
    assert depth.covered(7.5) == (7.5, 7.5 + depth.reach_mm)
    assert depth.worked(7.5) == (7.5 + depth.near_mm, 7.5 + depth.far_mm)


@given(SECTIONS, DIRECTIONS, CLOTHS)
def test_a_strip_carried_to_its_own_cloth_is_as_drawn_either_way(
    section: SectionDesign, direction: Direction, cloth: ClothCounts
) -> None:
    drawn = drawn_depth(section, direction, cloth)
    assert carried_depth(section, direction, (cloth, cloth), "keep_threads") == drawn
    assert carried_depth(section, direction, (cloth, cloth), "keep_width") == drawn


@given(SECTIONS, DIRECTIONS, CLOTHS, CLOTHS)
def test_a_strip_that_keeps_its_threads_keeps_them_and_one_that_keeps_its_width_is_off_by_half_a_thread(
    section: SectionDesign, direction: Direction, first: ClothCounts, second: ClothCounts
) -> None:
    drawn = drawn_depth(section, direction, first)
    threads = carried_depth(section, direction, (first, second), "keep_threads")
    width = carried_depth(section, direction, (first, second), "keep_width")
    half = width_of(0.5, second.withdrawn_per_cm(direction)) + 1e-6
    assert (threads.withdraw_threads, threads.depth_threads) == (drawn.withdraw_threads, drawn.depth_threads)
    assert drawn.width_mm is None or abs((width.width_mm or 0) - drawn.width_mm) <= half
    assert section.depth_mm is None or abs((width.depth_mm or 0) - section.depth_mm) <= half


@given(SECTIONS, DIRECTIONS, CLOTHS, st.integers(1, 200))
def test_a_recount_moves_only_the_withdrawn_threads(
    section: SectionDesign, direction: Direction, cloth: ClothCounts, withdrawn: int
) -> None:
    drawn, found = drawn_depth(section, direction, cloth), recounted_depth(section, direction, cloth, withdrawn)
    assert found.withdraw_threads == withdrawn
    assert (found.depth_threads, found.depth_mm) == (drawn.depth_threads, drawn.depth_mm)
    if drawn.withdraw_threads == withdrawn:
        assert found == drawn
