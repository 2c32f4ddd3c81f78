"""What a recount does to the quantity of a step that is begun."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.operations import OPERATIONS
from service.reckoning.recount import requantified

AMOUNTS = st.integers(0, 500)


@pytest.mark.parametrize(
    ("operation", "quantity", "done", "planned", "new", "too_far"),
    [
        ("ladder_knot", 198, 0, 194, 194, 0),
        ("ladder_knot", 198, 194, 194, 194, 0),
        ("ladder_knot", 198, 195, 194, 194, 1),
        ("ladder_knot", 198, 198, 202, 202, 0),
        ("withdraw", 18, 18, 17, 18, 0),
        ("withdraw", 18, 10, 17, 17, 0),
        ("clip", 36, 35, 34, 35, 0),
        ("mark", 40.5, 40.5, 39.9, 40.5, 0),
        ("mark", 40.5, 40.5, 41.2, 40.5, 0),
        ("mark", 40.5, 40.2, 39.9, 40.2, 0),
        ("mark", 40.5, 12, 41.2, 41.2, 0),
        ("edge_stitch", 0.9, 0, 0.8, 0.8, 0),
        ("pair_knot", 0, 0, 1, 1, 0),
    ],
)  # fmt: skip
def test_a_step_takes_the_new_count_as_far_as_what_is_done_lets_it(
    operation: str, quantity: float, done: float, planned: float, new: float, too_far: float
) -> None:
    found = requantified(operation, quantity=quantity, done=done, planned=planned)
    assert (found.quantity, found.too_far) == (new, too_far)


@given(st.sampled_from(sorted(OPERATIONS)), AMOUNTS, AMOUNTS, AMOUNTS)
def test_nothing_done_is_ever_more_than_the_new_quantity_unless_it_must_be_undone(
    operation: str, quantity: int, share: int, planned: int
) -> None:
    done = min(share, quantity)
    found = requantified(operation, quantity=quantity, done=done, planned=planned)
    assert done - found.too_far <= found.quantity
    assert found.too_far == 0 or not (OPERATIONS[operation].cannot_be_undone or OPERATIONS[operation].unit == "cm")
    assert found.quantity in {planned, done}


@pytest.mark.parametrize("field", ["quantity", "done", "planned"])
@pytest.mark.parametrize("nonsense", [-1.0, float("nan"), float("inf")])
def test_nonsense_is_refused_by_its_name(field: str, nonsense: float) -> None:
    amounts = {"quantity": 10.0, "done": 5.0, "planned": 9.0} | {field: nonsense}
    with pytest.raises(Wrong) as refused:
        requantified("ladder_knot", **amounts)
    assert refused.value.field == field
