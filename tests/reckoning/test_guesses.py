from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.guesses import STATED, count_felt, seconds_for
from service.reckoning.operations import OPERATIONS

DESIGNS = Path(__file__).parents[2] / "seed_data" / "designs"
NAMES = st.sampled_from(sorted(OPERATIONS))


@pytest.mark.parametrize("name", OPERATIONS)
def test_at_twenty_threads_one_unit_takes_the_guess(name: str) -> None:
    assert seconds_for(name, 1) == seconds_for(name, 1, 20, 250) == OPERATIONS[name].guess_seconds


@pytest.mark.parametrize("name", OPERATIONS)
def test_no_work_takes_no_time(name: str) -> None:
    assert seconds_for(name, 0, 30, 900) == 0


@given(NAMES, st.floats(0, 10_000), st.floats(1, 100), st.floats(1, 5000))
def test_twice_the_work_takes_twice_the_time(
    name: str, quantity: float, threads_per_cm: float, length_mm: float
) -> None:
    once = seconds_for(name, quantity, threads_per_cm, length_mm)
    assert seconds_for(name, 2 * quantity, threads_per_cm, length_mm) == pytest.approx(2 * once)


@given(NAMES, st.floats(1, 100), st.floats(1, 100))
def test_a_finer_cloth_never_makes_work_quicker(name: str, one: float, other: float) -> None:
    coarse, fine = sorted((one, other))
    assert seconds_for(name, 10, coarse) <= seconds_for(name, 10, fine)


@pytest.mark.parametrize(
    ("name", "grows"), [("clip", 2**0.3), ("edge_stitch", 2**0.15), ("baste", 1.0), ("whip_bias", 2**0.15)]
)
def test_twice_as_fine_a_cloth_costs_by_its_exposure(name: str, grows: float) -> None:
    assert seconds_for(name, 1, 40) / seconds_for(name, 1, 20) == pytest.approx(grows)


def test_only_withdrawing_asks_how_long_the_thread_is() -> None:
    assert seconds_for("withdraw", 1, thread_length_mm=1000) == 100
    assert seconds_for("clip", 1, thread_length_mm=1000) == 3


@pytest.mark.parametrize(
    ("name", "felt"), [("withdraw", 20), ("edge_stitch", 20), ("pair_knot", 19), ("mark", None), ("wash", None)]
)
def test_each_operation_feels_one_of_the_two_counts(name: str, felt: float | None) -> None:
    assert count_felt(name, 20, 19) == felt


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (("polish", 1), "operation"),
        (("clip", -1), "quantity"),
        (("clip", float("nan")), "quantity"),
        (("clip", "18"), "quantity"),
        (("clip", 1, 0), "threads_per_cm"),
        (("withdraw", 1, 20, 0), "thread_length_mm"),
    ],
)
def test_nonsense_is_named_by_its_field(arguments: tuple[str, float], field: str) -> None:
    with pytest.raises(Wrong) as refused:
        seconds_for(*arguments)
    assert refused.value.field == field


def test_a_garment_is_timed_by_the_guesses_it_is_given() -> None:
    """Everything guessed to take twice as long takes twice as long, in every section and altogether."""
    bib = read_design((DESIGNS / "bib.toml").read_text(encoding="utf-8"))
    once, twice = (
        plan_garment(bib, own_cloths(bib), guesses={name: times * each for name, each in STATED.items()})
        for times in (1, 2)
    )
    assert [section.after.seconds for section in twice.sections] == pytest.approx(
        [2 * section.after.seconds for section in once.sections]
    )
    assert once == plan_garment(bib, own_cloths(bib))
