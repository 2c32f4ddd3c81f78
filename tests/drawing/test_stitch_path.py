"""The six stitches drawn large: numbered in the order they are told, the same drawing in a mirror to the left."""

import re

import pytest

from service.drawing.stitch_path import WIDTH, stitch_path
from service.drawing.stitch_words import BAND_WORDS, stitch_order
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS
from tests.drawing.markup import extent, inked, paths, points, read


def test_all_six_kinds_have_a_stitch() -> None:
    assert tuple(BAND_WORDS) == BAND_KINDS


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_each_number_of_the_diagram_has_its_sentence(kind: str) -> None:
    root = read(stitch_path(kind))
    numbers = [text.text for text in inked(root, "d-number-text")]
    assert numbers == [str(at) for at in range(1, len(stitch_order(kind).steps) + 1)]


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_the_words_are_the_pictures_alternative(kind: str) -> None:
    order = stitch_order(kind, 2)
    text = read(stitch_path(kind, catch_threads=2))[1].text or ""
    assert [step for step in (*order.steps, order.then) if step not in text] == []


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_work_to_the_left_is_the_same_drawing_in_a_mirror(kind: str) -> None:
    right, left = read(stitch_path(kind)), read(stitch_path(kind, "right to left"))
    for ink in ("d-working", "d-behind", "d-done"):
        mirrored = [(round(WIDTH - x, 1), y) for x, y in points(paths(right, ink))]
        assert [(round(x, 1), y) for x, y in points(paths(left, ink))] == mirrored


@pytest.mark.parametrize(("direction", "side"), [("left to right", 1), ("right to left", -1)])
def test_the_needle_points_the_way_the_work_runs(direction: str, side: int) -> None:
    root = read(stitch_path("hem_band", direction))  # type: ignore[arg-type]
    needle = extent(inked(root, "d-needle")[0].attrib["d"])
    arrow = extent(inked(root, "d-here")[-1].attrib["d"])
    assert side * ((needle.left + needle.right) / 2 - WIDTH / 2) > 0
    assert side * ((arrow.left + arrow.right) / 2 - WIDTH / 2) < 0


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_all_of_it_lies_within_its_view(kind: str) -> None:
    root = read(stitch_path(kind))
    for ink in ("d-working", "d-behind", "d-needle", "d-here"):
        lies = extent(paths(root, ink))
        assert min(lies.left, lies.top) >= 0
        assert lies.right <= WIDTH
        assert lies.bottom <= 250


@pytest.mark.parametrize(("threads", "words"), [(1, "catching 1 thread"), (2, "catching 2 threads")])
def test_how_deep_the_edge_is_caught_is_told(threads: int, words: str) -> None:
    assert f", {words};" in stitch_order("hem_band", threads).steps[3]
    assert "catching" not in stitch_order("hem_band").steps[3]


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_no_sentence_keeps_a_gap_to_fill(kind: str) -> None:
    order = stitch_order(kind, 2)
    assert [step for step in (*order.steps, order.then) if re.search(r"[{}]", step)] == []


def test_nonsense_is_refused() -> None:
    with pytest.raises(Wrong, match=r"^kind: "):
        stitch_path("lace")
    with pytest.raises(Wrong, match=r"^work_direction: "):
        stitch_path("ladder", "upwards")  # type: ignore[arg-type]
    with pytest.raises(Wrong, match=r"^catch_threads: "):
        stitch_order("hem_band", 0)
