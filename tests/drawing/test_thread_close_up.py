"""Clipping and withdrawing close to: which thread is next, at which end, and what is gone already."""

from typing import Any

import pytest

from service.drawing.shown import ShownBand
from service.drawing.thread_close_up import passes_of, threads_close_up
from service.reckoning.asked import Wrong
from tests.drawing.markup import inked, paths, read, strokes


def band(**more: Any) -> ShownBand:
    """A ladder of ten withdrawn threads between two stop lines."""
    return ShownBand(**{"kind": "ladder", "name": "Ladder", "bundles": 20, "withdraw_threads": 10, **more})


@pytest.mark.parametrize(
    ("more", "operation", "passes"),
    [
        ({}, "clip", ("At one stop line, seen from the back", "At the other stop line, seen from the back")),
        ({"ends_at": ("start",)}, "clip", ("At the stop line, seen from the back",)),
        ({"closed_round": True}, "clip", ("Once a thread, seen from the back",)),
        (
            {"kind": "tuck_band", "ends_at": ("start",)},
            "clip",
            ("First strip, at the stop line, seen from the back", "Second strip, at the stop line, seen from the back"),
        ),
        ({}, "withdraw", ("From the first edge on",)),
        ({"kind": "tuck_band"}, "withdraw", ("First strip", "Second strip")),
    ],
)
def test_the_passes_are_those_the_reckoning_counts(
    more: dict[str, Any], operation: str, passes: tuple[str, ...]
) -> None:
    assert passes_of(band(**more), operation) == passes


@pytest.mark.parametrize(
    ("done", "words", "where"),
    [
        (0, "Next: clip thread 1 of 10", "At one stop line, seen from the back"),
        (9, "Next: clip thread 10 of 10", "At one stop line, seen from the back"),
        (10, "Next: clip thread 1 of 10", "At the other stop line, seen from the back"),
        (20, "All 10 clips done", "At the other stop line, seen from the back"),
    ],
)
def test_clipping_goes_on_from_one_stop_line_to_the_other(done: int, words: str, where: str) -> None:
    root = read(threads_close_up(band(), "clip", done))
    assert inked(root, "d-text")[0].text == words
    assert inked(root, "d-quiet")[0].text == where


@pytest.mark.parametrize("done", range(11))
def test_every_thread_is_gone_next_or_still_there(done: int) -> None:
    root = read(threads_close_up(band(), "withdraw", done))
    along_the_band = [path.attrib["d"] for path in inked(root, "d-thread") if "h360" in path.attrib["d"]]
    coming = [path.attrib["d"] for path in inked(root, "d-here") if "h360" in path.attrib["d"]]
    assert strokes("".join(along_the_band)) == max(0, 9 - done)
    assert strokes("".join(coming)) == (done < 10)
    assert strokes(paths(root, "d-done")) == done


def test_a_clipped_thread_is_cut_in_two_and_a_withdrawn_one_stays_only_behind_the_stop_line() -> None:
    clipped = paths(read(threads_close_up(band(), "clip", 3)), "d-done")
    withdrawn = paths(read(threads_close_up(band(), "withdraw", 3)), "d-done")
    assert (strokes(clipped), strokes(withdrawn)) == (6, 3)


def test_a_thread_that_runs_out_at_both_ends_has_nothing_to_clip() -> None:
    with pytest.raises(Wrong, match="runs out at both ends"):
        threads_close_up(band(ends_at=()), "clip", 0)
    gone = read(threads_close_up(band(ends_at=()), "withdraw", 10))
    assert paths(gone, "d-done") == ""


def test_of_many_threads_only_those_round_the_place_are_drawn() -> None:
    root = read(threads_close_up(band(withdraw_threads=40), "withdraw", 20))
    assert strokes(inked(root, "d-thread")[0].attrib["d"]) == 5
    assert strokes(paths(root, "d-done")) == 6


@pytest.mark.parametrize(("operation", "done"), [("clip", 21), ("withdraw", 11), ("knot", 0), ("clip", -1)])
def test_passes_the_band_does_not_have_are_refused(operation: str, done: int) -> None:
    with pytest.raises(Wrong):
        threads_close_up(band(), operation, done)
