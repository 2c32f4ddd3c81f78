"""The state machine of state_machine.py, short and always the same runs."""

from pathlib import Path

from tests.faults.state_machine import prepared, run


def test_anything_done_in_any_order_leaves_the_records_as_a_plain_model_says(tmp_path: Path) -> None:
    run(prepared(tmp_path), runs=6, steps=25, same=True)
