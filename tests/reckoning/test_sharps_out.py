"""Needles and pins that are out by the counts of one person."""

from service.reckoning.sharps_out import Sharps, SharpsCount, SharpsOut, sharps_out


def _counts(*told: tuple[str, int, int]) -> SharpsOut:
    ways = {"out": "out", "in": "in", "with": "with the piece"}
    return sharps_out(SharpsCount(ways[way], Sharps(needles, pins)) for way, needles, pins in told)  # type: ignore[arg-type]


def test_a_count_the_same_way_corrects_the_one_before() -> None:
    assert _counts().open == Sharps()
    assert _counts(("out", 3, 12), ("out", 2, 10)).open == Sharps(2, 10)
    assert _counts(("out", 3, 12), ("in", 2, 12)).open == Sharps(1, 0)
    assert _counts(("out", 3, 12), ("in", 2, 12), ("in", 3, 12)).open == Sharps()


def test_what_came_with_the_piece_is_out_until_it_is_counted_in() -> None:
    assert _counts(("with", 2, 12)) == SharpsOut(Sharps(2, 12), Sharps(2, 12))
    assert _counts(("with", 2, 12), ("out", 1, 20)).open == Sharps(2, 20)
    assert _counts(("with", 2, 12), ("out", 3, 12), ("in", 3, 12)).open == Sharps()
    assert _counts(("with", 2, 12), ("in", 2, 11)).open == Sharps(0, 1)
    assert _counts(("with", 2, 12), ("in", 2, 12), ("out", 1, 0)).open == Sharps(1, 0)
    assert _counts(("out", 3, 12), ("with", 1, 0)).open == Sharps(1, 0)


def test_a_new_sitting_does_not_forget_what_the_last_one_left_missing() -> None:
    again = _counts(("out", 3, 12), ("in", 2, 12), ("out", 2, 6))
    assert (again.open, again.missing) == (Sharps(3, 6), Sharps(1, 0))
    assert _counts(("out", 3, 12), ("in", 2, 12), ("out", 2, 6), ("out", 1, 6)).open == Sharps(2, 6)
    assert _counts(("out", 3, 12), ("in", 2, 12), ("out", 2, 6), ("in", 2, 6)).open == Sharps(1, 0)
    assert _counts(("out", 3, 12), ("in", 2, 12), ("out", 2, 6), ("in", 3, 6)).open == Sharps()
