"""A step as it lies in the hand: passes that together are all of it, the number reached, a needleful."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.in_hand import counted_to, fitted, pass_in_hand, units_in_needleful

WHOLES = st.lists(st.integers(1, 200), min_size=1, max_size=4)


@settings(max_examples=60)
@given(WHOLES, st.integers(1, 1000))
def test_fitted_passes_are_together_all_of_the_step(passes: list[int], quantity: int) -> None:
    found = fitted(passes, quantity)
    assert sum(found) == quantity
    assert min(found) > 0
    assert list(found[:-1]) == passes[: len(found) - 1]


@settings(max_examples=60)
@given(WHOLES, st.data())
def test_counting_to_a_number_makes_it_the_number_reached(passes: list[int], data: st.DataObject) -> None:
    done = data.draw(st.integers(0, sum(passes) - 1))
    at, done_of_it = pass_in_hand(passes, done)
    assert sum(passes[:at]) + done_of_it == done
    reached = data.draw(st.integers(int(done_of_it) + 1, passes[at]))
    after = done + counted_to(passes, done, reached)
    assert pass_in_hand(passes, after) in {(at, reached), (at + 1, 0)}


@pytest.mark.parametrize(
    ("reached", "sentence"),
    [
        (67, "must be at most 66, which is the end"),
        (4, "must be more than 4, which are done"),
        (0, "must be more than"),
    ],
)
def test_a_number_done_already_or_beyond_the_end_is_refused(reached: int, sentence: str) -> None:
    with pytest.raises(Wrong, match=sentence):
        counted_to((66, 66), 70, reached)


@pytest.mark.parametrize(
    ("operation", "width_mm", "units"),
    [
        ("hem_knot", 2.0, 37),  # (450 - 80) / (3 x 2 + 4)
        ("ladder_knot", 2.0, 46),  # (450 - 80) / (3 x 2 + 2)
        ("embroider", None, 1),
        ("clip", None, None),
        ("pair_knot", 4.0, None),
    ],
)
def test_a_needleful_works_whole_units_by_the_thread_that_each_takes(
    operation: str, width_mm: float | None, units: int | None
) -> None:
    assert units_in_needleful(operation, width_mm) == units
