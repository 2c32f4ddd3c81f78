import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.operations import OPERATIONS, Amount, amount, operation_named, tenths_up


def test_cutting_clipping_and_withdrawing_cannot_be_undone_and_nothing_else() -> None:
    assert {name for name, operation in OPERATIONS.items() if operation.cannot_be_undone} == {
        "cut_block",
        "clip",
        "withdraw",
        "cut_bias",
        "cut_out",
    }


def test_every_operation_that_feels_a_finer_cloth_says_whose_count_makes_it_finer() -> None:
    for operation in OPERATIONS.values():
        assert (operation.fineness_of is not None) == (operation.exposure > 0)
        assert operation.guess_seconds > 0


def test_what_is_done_to_a_block_before_its_bands_is_counted_by_the_panel() -> None:
    names = ("cut_block", "wash", "press", "trace", "retrace", "cut_out")
    assert {OPERATIONS[name].unit for name in names} == {"panel"}


def test_an_amount_carries_its_unit_and_only_lengths_are_rounded() -> None:
    assert amount("withdraw", 18) == Amount("withdraw", "thread", 18)
    assert amount("baste", 12.31) == Amount("baste", "cm", 12.4)


@given(st.floats(0, 1e5))
def test_a_length_is_rounded_up_by_less_than_a_tenth(length_cm: float) -> None:
    assert -1e-6 <= tenths_up(length_cm) - length_cm < 0.1 + 1e-6


@given(st.integers(0, 10**6))
def test_a_length_of_whole_tenths_stays_as_it_is(tenths: int) -> None:
    assert tenths_up(tenths / 10) == tenths / 10


def test_an_unknown_operation_is_refused_by_name() -> None:
    with pytest.raises(Wrong, match="operation: there is no operation called 'polish'"):
        operation_named("polish")
