"""A band close to: the place reached in every kind, told in words and drawn as it lies in the hand."""

import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.band_close_up import band_close_up
from service.drawing.close_parts import STRIP, WIDTH
from service.drawing.close_up import knots_close_up
from service.drawing.rows import rows_of
from service.drawing.shown import ShownBand
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS
from tests.drawing.markup import SVG, extent, inked, paths, read, strokes

KNOTS = {
    "hem_band": "hem_knot",
    "ladder": "ladder_knot",
    "ladder_paired": "pair_knot",
    "serpentine": "ladder_knot",
    "alternating": "alternating_knot",
    "tuck_band": "tuck_knot",
}
PLACES: list[tuple[str, str, int, dict[str, Any], str, str]] = [
    ("hem_band", "hem_knot", 40, {}, "Next: bundle 41 of 96, 4 threads", "Along the hem"),
    ("hem_band", "hem_knot", 96, {}, "All 96 bundles done", "Along the hem"),
    ("ladder", "ladder_knot", 40, {}, "Next: bundle 41 of 96, 4 threads", "First edge"),
    ("ladder", "ladder_knot", 96, {}, "Next: bundle 1 of 96, 4 threads", "Second edge, work turned: the same bundles"),
    (
        "ladder_paired",
        "ladder_knot",
        191,
        {},
        "Next: bundle 96 of 96, 4 threads",
        "Second edge, work turned: the same bundles",
    ),
    ("ladder_paired", "pair_knot", 20, {}, "Next: pair 21 of 48, 8 threads", "Pairs, in the middle of the band"),
    ("ladder_paired", "pair_knot", 47, {"pair_rows": 2}, "Next: pair 48 of 48, 8 threads", "Pairs, the first row"),
    ("ladder_paired", "pair_knot", 48, {"pair_rows": 2}, "Next: pair 1 of 48, 8 threads", "Pairs, the second row"),
    ("serpentine", "ladder_knot", 95, {}, "Next: bundle 96 of 96, 4 threads", "First edge"),
    ("serpentine", "ladder_knot", 96, {}, "Next: knot 1 of 97, 2 threads", "Second edge, work turned: half and half"),
    ("serpentine", "ladder_knot", 97, {}, "Next: knot 2 of 97, 4 threads", "Second edge, work turned: half and half"),
    ("alternating", "alternating_knot", 40, {}, "Next: bundle 41 of 96, 4 threads", "Lower edge"),
    ("alternating", "alternating_knot", 41, {}, "Next: bundle 42 of 96, 4 threads", "Upper edge"),
    ("tuck_band", "tuck_knot", 0, {}, "Next: bundle 1 of 96, 4 + 4 threads", "Along the tuck, both layers together"),
]


def band(kind: str = "ladder", **more: Any) -> ShownBand:
    """A band of 96 bundles of four."""
    return ShownBand(**{"kind": kind, "name": "Band", "bundles": 96, **more})


def letters(svg: str, ink: str = "d-text") -> list[str]:
    """What is lettered in one ink."""
    return [text.text or "" for text in inked(read(svg), ink)]


def tied_by_ink(svg: str) -> tuple[int, int]:
    """How many threads are drawn together, and how many stand open."""
    root = read(svg)
    strip = [group for group in inked(root, "d-done") if extent(group.attrib["d"]).top >= STRIP.top]
    for element in strip:
        element.set("class", "in the strip")
    open_ones = [path for path in inked(root, "d-thread") if extent(path.attrib["d"]).top < STRIP.top]
    return strokes(paths(root, "d-done")), sum(strokes(path.attrib["d"]) for path in open_ones)


@pytest.mark.parametrize(("kind", "operation", "done", "more", "following", "row"), PLACES)
def test_the_next_knot_is_told_first(
    kind: str, operation: str, done: int, more: dict[str, Any], following: str, row: str
) -> None:
    svg = knots_close_up(band(kind, **more), operation, done)
    assert (letters(svg)[0], letters(svg, "d-quiet")[0]) == (following, row)
    assert (read(svg)[1].text or "").startswith(f"{following}. {row}. ")


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_every_kind_ties_the_threads_of_its_done_knots(kind: str) -> None:
    small = band(kind, bundles=6)
    operation = KNOTS[kind]
    rows = rows_of(kind, small.sizes)
    own = [row for row in rows if row.operation == operation]
    first = knots_close_up(small, operation, 2)
    width = own[0].edges[2]
    tied = 24 if kind == "ladder_paired" else width
    assert tied_by_ink(first) == (tied, 24 - tied)
    everything = knots_close_up(small, operation, sum(row.knots for row in own))
    assert tied_by_ink(everything) == (24, 0)


def test_odd_threads_spread_over_bundles_are_told_and_drawn_at_their_own_bundle() -> None:
    spread = band("hem_band", bundles=6, bundle_sizes=(4, 5, 4, 4, 5, 4))
    assert letters(knots_close_up(spread, "hem_knot", 1))[0] == "Next: bundle 2 of 6, 5 threads"
    assert tied_by_ink(knots_close_up(spread, "hem_knot", 2)) == (9, 17)


def test_the_next_bundle_is_bracketed_and_numbered() -> None:
    svg = knots_close_up(band("hem_band"), "hem_knot", 40)
    assert letters(svg, "d-here-text") == ["41"]
    assert "40" in letters(svg, "d-quiet")


def test_nothing_is_bracketed_when_all_is_done() -> None:
    svg = knots_close_up(band("hem_band"), "hem_knot", 96)
    assert letters(svg, "d-here-text") == []
    assert inked(read(svg), "d-needle") == []


@pytest.mark.parametrize(("direction", "share"), [("left to right", 0.25), ("right to left", 0.75)])
def test_the_place_is_marked_on_the_whole_length_from_where_the_work_began(direction: str, share: float) -> None:
    root = read(knots_close_up(band("hem_band", work_direction=direction), "hem_knot", 24))
    wedge = extent(inked(root, "d-here-fill")[0].attrib["d"])
    assert round((wedge.left + wedge.right) / 2, 1) == STRIP.left + share * STRIP.width


@given(st.sampled_from(BAND_KINDS), st.integers(1, 300), st.sampled_from([2, 4, 8]), st.booleans(), st.data())
def test_the_next_bundle_is_always_in_sight(
    kind: str, bundles: int, threads: int, leftwards: bool, data: st.DataObject
) -> None:
    direction = "right to left" if leftwards else "left to right"
    some = band(kind, bundles=bundles, bundle_threads=threads, work_direction=direction)
    operation = "ladder_knot" if kind == "ladder_paired" else KNOTS[kind]
    knots = sum(row.knots for row in rows_of(kind, some.sizes) if row.operation == operation)
    root = read(knots_close_up(some, operation, data.draw(st.integers(0, knots - 1))))
    (number,) = inked(root, "d-here-text")
    assert 0 < float(number.attrib["x"]) < WIDTH


def test_a_stop_line_is_drawn_where_it_is_in_sight_and_an_open_end_as_cut_cloth() -> None:
    both = read(knots_close_up(band("hem_band", bundles=5), "hem_knot", 2))
    one = read(knots_close_up(band("hem_band", bundles=5, ends_at=("start",)), "hem_knot", 2))
    cut = [path for path in inked(one, "d-pencil") if path.get("stroke-dasharray") == "7 3 1.5 3"]
    assert (len(inked(both, "d-knot")), len(inked(one, "d-knot")), len(cut)) == (5, 4, 1)


def test_a_tuck_shows_its_other_layer() -> None:
    svg = knots_close_up(band("tuck_band", bundles=6), "tuck_knot", 2)
    behind = [path for path in inked(read(svg), "d-pencil") if path.get("stroke-width") == ".8"]
    assert [strokes(path.attrib["d"]) for path in behind] == [24]


def test_knots_the_kind_does_not_have_are_refused() -> None:
    with pytest.raises(Wrong, match=r"^operation: a hem_band has no 'pair_knot'"):
        knots_close_up(band("hem_band"), "pair_knot", 0)
    with pytest.raises(Wrong, match=r"^done: "):
        knots_close_up(band("hem_band"), "hem_knot", 97)


@pytest.mark.parametrize(
    ("operation", "done", "quantity", "words"),
    [
        ("hem_knot", 40.0, 96, "Next: bundle 41 of 96, 4 threads"),
        ("hem_knot", 120, 96, "All 96 bundles done"),
        ("clip", 7, 36, "Next: clip thread 8 of 18"),
        ("clip", 50, 36, "All 18 clips done"),
        ("withdraw", 0, 18, "Next: withdraw thread 1 of 18"),
        ("edge_stitch", 0.4, 1.8, "0.4 of 1.8 cm edge-stitched"),
        ("mark", 21.3, 40, "21.3 of 40 cm marked"),
        ("baste", 20, 20, "20 of 20 cm basted"),
    ],
)
def test_every_step_of_a_band_has_its_close_up(operation: str, done: float, quantity: float, words: str) -> None:
    svg = band_close_up(band("hem_band", withdraw_threads=18), operation, done, quantity)
    assert letters(svg)[0] == words
    assert read(svg).get("role") == "img"


@pytest.mark.parametrize(
    ("operation", "field"), [("pair_knot", "operation"), ("lace", "operation"), ("secure", "operation")]
)
def test_a_step_the_band_does_not_have_is_refused(operation: str, field: str) -> None:
    with pytest.raises(Wrong, match=f"^{field}: "):
        band_close_up(band("hem_band", withdraw_threads=18), operation, 0, 1)


def test_open_ends_are_secured_where_the_band_has_no_stop_line() -> None:
    svg = band_close_up(band("hem_band", ends_at=("start",)), "secure", 0.4, 0.9)
    assert extent(paths(read(svg), "d-bound")).left > WIDTH / 2


@pytest.mark.parametrize("operation", ["mark", "edge_stitch", "baste"])
@given(done=st.floats(0, 30))
def test_the_firm_part_of_a_line_is_the_part_that_is_done(operation: str, done: float) -> None:
    root = read(band_close_up(band("hem_band"), operation, done, 30))
    firm, fine = (sum(_lengths(paths(root, ink))) for ink in ("d-bound", "d-bind"))
    assert abs(firm / (firm + fine) - done / 30) < 0.01


@pytest.mark.parametrize("name", ["<b>Hem</b>", "Hem & fold"])
def test_names_in_close_ups_are_escaped(name: str) -> None:
    some = replace(band("hem_band", withdraw_threads=4), name=name)
    for operation in ("hem_knot", "clip", "mark"):
        root = read(band_close_up(some, operation, 1, 9))
        assert root[0].text == name
        assert list(root.iter(f"{SVG}b")) == []


def _lengths(d: str) -> list[float]:
    """The lengths of the upright and level strokes of a path."""
    return [abs(float(number)) for number in re.findall(r"[hv](-?[\d.]+)", d)]


@pytest.mark.parametrize(
    ("operation", "done", "words"),
    [
        ("ladder_knot", 41, "41 bundles of this edge done, 55 left"),
        ("ladder_knot", 97, "1 bundle of this edge done, 95 left"),
        ("clip", 7, "7 clips done, 11 left"),
    ],
)
def test_what_is_done_says_what_is_counted_so_that_it_is_not_taken_for_all_the_knots(
    operation: str, done: int, words: str
) -> None:
    band = ShownBand("ladder", "Ladder", 96, 4, withdraw_threads=18)
    assert words in band_close_up(band, operation, done, 192)
