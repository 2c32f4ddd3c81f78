"""Lines to mark on a flat block: moved on by the tucks before them, counted by whole threads."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.designs import Placement, SectionDesign
from service.reckoning.marking import PanelToMark, Stops, StripToMark, flat_mm, lines_to_mark, stops_of
from service.reckoning.shapes import Rect

TUCK = StripToMark("Tuck", "across", Rect(0, 40, 100, 46), fold_mm=46, folded=True)  # sewn at 40, fold below it
HEM = StripToMark("Hem", "across", Rect(0, 80, 100, 83), withdraw_threads=6, folded=True)


def told(*strips: StripToMark, warp: float = 20, weft: float = 20) -> list[tuple[str, float, int]]:
    lines = lines_to_mark(PanelToMark(warp, weft, strips))
    return [(f"{line.section}: {line.what}", line.at_mm, line.at_thread) for line in lines]


def test_a_plain_tuck_is_marked_by_two_seam_lines_about_its_fold() -> None:
    assert told(TUCK) == [
        ("Tuck: seam line", 40, 80),
        ("Tuck: fold", 46, 92),
        ("Tuck: seam line", 52, 104),
    ]


def test_what_lies_beyond_a_tuck_is_moved_on_by_twice_its_depth() -> None:  # Baldt, 1916, ch. XXII
    assert told(TUCK, HEM)[3:] == [
        ("Hem: upper edge of the drawn strip", 92, 184),
        ("Hem: lower edge, 6 threads on", 95, 190),
    ]


def test_what_lies_before_a_tuck_stays() -> None:
    early = replace(HEM, strip=Rect(0, 10, 100, 13))
    assert told(TUCK, early)[3][1:] == (10, 20)


def test_a_tuck_pressed_upwards_takes_up_the_same_cloth() -> None:
    upwards = replace(TUCK, strip=Rect(0, 34, 100, 40), fold_mm=34)
    assert told(upwards) == told(TUCK)


def test_an_opening_outside_stands_beyond_both_knotted_lines() -> None:
    tuck = StripToMark("Tuck", "across", Rect(0, 36, 100, 40), fold_mm=46, withdraw_threads=8)
    assert [(what.partition(": ")[2], mm) for what, mm, _ in told(tuck)] == [
        ("edge of the drawn strip", 36),
        ("knotted line", 40),
        ("fold", 46),
        ("knotted line", 52),
        ("edge of the drawn strip", 56),
    ]
    assert flat_mm(PanelToMark(20, 20, (tuck,)), "across", 80) == 92


def test_an_opening_inside_is_taken_up_with_the_tuck() -> None:
    tuck = StripToMark("Tuck", "across", Rect(0, 36, 100, 40), fold_mm=46, withdraw_threads=8, opening_inside=True)
    assert [mm for _, mm, _ in told(tuck)] == [36, 40, 46, 52, 56]
    assert flat_mm(PanelToMark(20, 20, (tuck,)), "across", 80) == 80 + 2 * (6 + 4)


def test_tucks_that_lie_beside_a_band_do_not_move_it() -> None:
    beside = replace(HEM, strip=Rect(200, 80, 300, 83))
    assert told(TUCK, beside)[3][1] == 80


def test_tucks_across_do_not_move_lines_down_the_cloth() -> None:
    down = StripToMark("Ladder", "down", Rect(60, 20, 66, 90), withdraw_threads=12)
    assert told(TUCK, down, warp=20)[3:] == [
        ("Ladder: left edge of the drawn strip", 60, 120),
        ("Ladder: right edge, 12 threads on", 66, 132),
    ]


def test_stop_lines_lie_square_to_the_band_and_are_counted_in_the_other_system() -> None:
    band = replace(HEM, stops=Stops(("start", "end")), strip=Rect(10, 80, 90, 83), folded=False, hoop=True)
    lines = lines_to_mark(PanelToMark(30, 20, (TUCK, band)))[5:]
    assert [(line.what, line.direction, line.at_mm, line.at_thread, line.system) for line in lines] == [
        ("stop line, left end", "down", 10, 30, "warp"),
        ("stop line, right end", "down", 90, 270, "warp"),
    ]
    assert all(line.hoop and line.layers == 1 and line.edge == "left" for line in lines)


@pytest.mark.parametrize(
    ("placements", "stop_lines", "on_front", "on_back"),
    [
        pytest.param([("front", None, 340)], 1, (("end",), False), ((), False), id="a slit from the edge ends inside"),
        pytest.param([("front", 84, None)], 1, (("start",), False), ((), False), id="begins inside, runs out"),
        pytest.param([("front", 84, 340)], 2, (("start", "end"), False), ((), False), id="both ends inside"),
        pytest.param([("front", None, None)], 2, (("start", "end"), False), ((), False), id="stopped at both edges"),
        pytest.param(
            [("front", None, None)], 1, (("start", "end"), True), ((), False), id="one stop line, both run out"
        ),
        pytest.param([("front", 84, 340)], 1, (("start", "end"), True), ((), False), id="one stop line, both inside"),
        pytest.param(
            [("front", 20, None), ("back", None, 50)], 2, (("start",), False), (("end",), False), id="over two panels"
        ),
        pytest.param([("front", 84, 340)], 0, ((), False), ((), False), id="none"),
    ],
)
def test_a_stop_line_lies_where_a_band_ends_inside_its_panel(
    placements: list[tuple[str, float | None, float | None]],
    stop_lines: int,
    on_front: tuple[tuple[str, ...], bool],
    on_back: tuple[tuple[str, ...], bool],
) -> None:
    lying = tuple(Placement(panel, "top", 50, from_mm, to_mm) for panel, from_mm, to_mm in placements)
    band = SectionDesign("band", "Band", "ladder", placements=lying)
    found = [stops_of(band, panel, stop_lines) for panel in ("front", "back")]
    assert [(stops.ends, stops.chosen_at_the_cloth) for stops in found] == [on_front, on_back]
    assert stops_of(replace(band, closed_round=True), "front", stop_lines) == Stops()


def test_ends_that_may_have_the_one_stop_line_say_so() -> None:
    band = replace(HEM, stops=Stops(("start", "end"), chosen_at_the_cloth=True))
    assert [line.what for line in lines_to_mark(PanelToMark(20, 20, (band,)))[2:]] == [
        "stop line, left end, or the other end: one stop line",
        "stop line, right end, or the other end: one stop line",
    ]


def test_a_stop_line_of_a_band_down_the_cloth_is_moved_on_by_tucks_above_it() -> None:
    down = StripToMark("Ladder", "down", Rect(60, 20, 66, 90), withdraw_threads=12, stops=Stops(("start", "end")))
    assert [line[1] for line in told(TUCK, down)[5:]] == [20, 102]


def test_lines_are_numbered_in_working_order_and_layers_are_told() -> None:
    lines = lines_to_mark(PanelToMark(20, 20, (TUCK, HEM)))
    assert [line.number for line in lines] == [1, 2, 3, 4, 5]
    assert {line.layers for line in lines} == {2}


@pytest.mark.parametrize("count", [0, -1, float("nan")])
def test_a_count_that_is_none_is_refused(count: float) -> None:
    with pytest.raises(Wrong, match="weft_per_cm"):
        lines_to_mark(PanelToMark(20, count, (HEM,)))


@given(st.floats(5, 60), st.lists(st.tuples(st.floats(2, 30), st.floats(0.5, 15)), min_size=1, max_size=12))
def test_tucks_one_after_another_never_cross_and_take_up_what_they_take(
    per_cm: float, tucks: list[tuple[float, float]]
) -> None:
    strips, at = [], 10.0
    for gap, depth in tucks:
        at += gap + depth
        strips.append(StripToMark("Tuck", "across", Rect(0, at, 100, at + depth), fold_mm=at + depth))
    panel = PanelToMark(per_cm, per_cm, tuple(strips))
    lines = lines_to_mark(panel)
    places = [line.at_mm for line in lines]
    assert places == sorted(places)
    for line in lines:
        assert abs(line.at_thread - line.at_mm * per_cm / 10) <= 0.51
    taken = sum(2 * (lines[at * 3 + 1].at_thread - lines[at * 3].at_thread) * 10 / per_cm for at in range(len(strips)))
    assert flat_mm(panel, "across", 1000) == pytest.approx(1000 + taken)


def test_lines_across_count_the_weft_and_lines_down_the_warp() -> None:
    down = StripToMark("Slit", "down", Rect(60, 20, 66, 90), withdraw_threads=12)
    assert told(HEM, down, warp=30, weft=20) == [
        ("Hem: upper edge of the drawn strip", 80, 160),
        ("Hem: lower edge, 6 threads on", 83, 166),
        ("Slit: left edge of the drawn strip", 60, 180),
        ("Slit: right edge, 12 threads on", 64, 192),
    ]
    third = replace(HEM, strip=Rect(1 / 3, 80, 100, 83), stops=Stops(("start",)))
    assert [line.at_mm for line in lines_to_mark(PanelToMark(30, 20, (third,)))][-1] == 0.333


@pytest.mark.parametrize(
    ("opening_inside", "lines"),
    [
        (True, ["edge of the drawn strip", "knotted line", "fold", "knotted line", "edge of the drawn strip"]),
        (False, ["edge of the drawn strip", "knotted line", "fold", "knotted line", "edge of the drawn strip"]),
    ],
)
def test_a_drawn_tuck_is_marked_from_edge_to_edge_with_its_fold_between(
    lines: list[str], *, opening_inside: bool
) -> None:
    tuck = StripToMark(
        "Tuck", "across", Rect(0, 36, 100, 40), fold_mm=46, withdraw_threads=8, opening_inside=opening_inside
    )
    found = lines_to_mark(PanelToMark(20, 20, (tuck,)))
    assert [line.what for line in found] == lines
    assert [line.at_thread for line in found] == sorted(line.at_thread for line in found)
