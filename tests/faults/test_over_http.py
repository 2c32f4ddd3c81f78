"""The state machine of over_http.py, short and always the same runs."""

from pathlib import Path

from tests.faults.over_http import prepared, run


def test_whatever_is_sent_to_the_service_leaves_the_records_as_a_plain_model_says(tmp_path: Path) -> None:
    run(prepared(tmp_path), runs=3, steps=12, same=True)
