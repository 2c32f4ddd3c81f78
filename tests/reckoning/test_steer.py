"""Steering a row back: the threads left are used to the last, by bundles that differ by one thread at most."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BandKind
from service.reckoning.steer import STEER_WAYS, MirrorRow, SteerAsk, in_words, opposite, steer

ROW = SteerAsk("ladder", (4,) * 130, 4, reached=124, threads_left=27, since=120)
KINDS: tuple[BandKind, ...] = ("hem_band", "ladder", "ladder_paired", "serpentine", "alternating", "tuck_band")


@st.composite
def rows(draw: st.DrawFn) -> SteerAsk:
    """A row on its way, some threads adrift."""
    threads = draw(st.integers(3, 8))
    bundles = draw(st.integers(2, 60))
    sizes = tuple(draw(st.lists(st.sampled_from((threads, threads + 1)), min_size=bundles, max_size=bundles)))
    reached = draw(st.integers(1, bundles - 1))
    since = draw(st.integers(0, reached - 1))
    adrift = draw(st.integers(-8, min(8, (threads - 1) * (reached - since))))
    left = sum(sizes[reached:]) + adrift
    return SteerAsk(
        draw(st.sampled_from(KINDS)), sizes, threads, reached, max(1, left), since, draw(st.sampled_from(STEER_WAYS))
    )


@settings(max_examples=60)
@given(rows())
def test_the_bundles_to_come_use_the_threads_left_exactly_each_by_one_at_most(row: SteerAsk) -> None:
    steered = steer(row)
    assert sum(steered.sizes) == sum(row.sizes)
    assert len(steered.sizes) == len(row.sizes)
    assert min(steered.sizes) >= 1
    assert steered.sizes[: row.since] == row.sizes[: row.since]
    if steered.waits:
        assert steered.sizes == row.sizes
        return
    to_come = steered.sizes[row.reached :]
    assert sum(to_come) == row.threads_left
    differ = [after - before for before, after in zip(row.sizes[row.reached :], to_come, strict=True)]
    assert set(differ) <= {0, 1 if row.adrift > 0 else -1}
    assert len(steered.changed) == abs(row.adrift)
    assert all(abs(size - row.bundle_threads) <= 1 for size in to_come)


@settings(max_examples=50)
@given(rows(), st.integers(-5, 5))
def test_pairs_are_steered_as_pairs_but_for_one_odd_thread(row: SteerAsk, pairs: int) -> None:
    even = replace(
        row,
        kind="ladder_paired",
        sizes=(row.bundle_threads,) * (row.reached + row.reached % 2 + 12),
        reached=row.reached + row.reached % 2,
    )
    left = sum(even.sizes[even.reached :])
    for odd in (0, 1):
        asked = replace(even, threads_left=left + 2 * min(pairs, (even.reached - even.since) // 2) + odd)
        steered = steer(asked)
        uneven = [at for at in range(asked.reached, len(asked.sizes), 2) if len(set(steered.sizes[at : at + 2])) > 1]
        assert len(uneven) == odd
        assert [finding.code for finding in steered.findings] == ["uneven_pair"] * odd


@settings(max_examples=40)
@given(rows(), st.booleans())
def test_a_mirror_not_begun_has_the_like_of_every_bundle_opposite_and_uses_its_threads_to_the_last(
    row: SteerAsk, turned: bool
) -> None:
    steered = steer(row)
    mirror = opposite(row, steered, MirrorRow("Left band", row.sizes[:: -1 if turned else 1], turned=turned))
    if mirror.why_not:
        assert (mirror.why_not.code, row.kind, len(row.sizes) % 2) == ("mirror_pairs", "ladder_paired", 1)
        return
    assert mirror.sizes[:: -1 if turned else 1] == steered.sizes
    assert sum(mirror.sizes) == sum(row.sizes)


@pytest.mark.parametrize(
    ("mirror", "code", "words"),
    [
        (MirrorRow("Left", (4,) * 130, tied=12), "mirror_begun", "12 of its 130 bundles are tied"),
        (MirrorRow("Left", (4,) * 129), "mirror_counted", "its own threads were counted otherwise"),
        (MirrorRow("Left", (4,) * 129 + (5,)), "mirror_counted", "its own threads were counted otherwise"),
    ],
)
def test_a_mirror_that_cannot_follow_stays_and_says_why(mirror: MirrorRow, code: str, words: str) -> None:
    left = opposite(ROW, steer(ROW), mirror)
    assert left.sizes == mirror.sizes
    assert left.why_not is not None
    assert (left.why_not.code, left.why_not.waits, words in left.why_not.text) == (code, False, True)


def test_a_row_that_is_right_is_left_as_it_is() -> None:
    row = replace(ROW, threads_left=24)
    assert steer(row).sizes == row.sizes
    assert in_words(row, steer(row)) == "The row is right: the threads left are those of the bundles left."


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, "3 threads adrift since bundle 120: take 5 in each of the next 3 bundles, 125 to 127."),
        ({"threads_left": 22}, "2 threads adrift since bundle 120: take 3 in each of the next 2 bundles, 125 to 126."),
        ({"threads_left": 25}, "1 thread adrift since bundle 120: take 5 in bundle 125."),
        ({"threads_left": 26, "way": "spread"}, "2 threads adrift since bundle 120: take 5 in 2 bundles: 126, 129."),
        ({"threads_left": 25, "since": 0}, "1 thread adrift: take 5 in bundle 125."),
    ],
)
def test_what_to_do_is_said_in_one_sentence(change: dict[str, object], words: str) -> None:
    row = replace(ROW, **change)  # type: ignore[arg-type]
    assert in_words(row, steer(row)) == words


def test_more_threads_adrift_than_bundles_left_cannot_be_made_up() -> None:
    row = replace(ROW, threads_left=31, since=100)
    steered = steer(row)
    assert steered.sizes == row.sizes
    assert [(finding.code, finding.waits) for finding in steered.findings] == [("too_far", True)]
    assert "6 bundles are left" in steered.findings[0].text
    assert "unpick back to bundle 100" in steered.findings[0].text


def test_no_bundle_is_left_with_one_thread() -> None:
    row = SteerAsk("ladder", (2,) * 10, 2, reached=4, threads_left=11)
    assert steer(row).waits


@pytest.mark.parametrize(
    ("kind", "code"), [("serpentine", "odd_halves"), ("tuck_band", "both_layers"), ("ladder_paired", "uneven_pair")]
)
def test_what_a_kind_of_band_makes_of_it_is_said(kind: BandKind, code: str) -> None:
    assert [finding.code for finding in steer(replace(ROW, kind=kind)).findings] == [code]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"reached": 130}, "reached"),
        ({"since": 125}, "since"),
        ({"since": 124}, "since"),
        ({"threads_left": 0}, "threads_left"),
        ({"threads_left": 40}, "threads_left"),
        ({"way": "never"}, "way"),
        ({"sizes": ()}, "sizes"),
    ],
)
def test_nonsense_is_refused_at_its_field(change: dict[str, object], field: str) -> None:
    with pytest.raises(Wrong) as wrong:
        steer(replace(ROW, **change))  # type: ignore[arg-type]
    assert wrong.value.field == field
