from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.bands import BandAsk, BandPlan, plan_band
from service.reckoning.operations import OPERATIONS
from service.reckoning.steps import PLAIN_KINDS, PlainWork, StepPlan, panel_steps, section_steps


def band(kind: BandKind, *, stop_lines: int = 1, closed_round: bool = False) -> BandPlan:
    return plan_band(
        BandAsk(
            kind,
            20,
            20,
            withdraw_threads=18,
            standing_threads=400,
            stop_lines=stop_lines,
            closed_round=closed_round,
        )
    )


def listed(steps: tuple[StepPlan, ...]) -> list[tuple[str, float]]:
    return [(step.operation, step.quantity) for step in steps]


class Steps(NamedTuple):
    kind: BandKind
    steps: list[tuple[str, float]]


ONE_STOP = [("mark", 40.9), ("edge_stitch", 0.9), ("clip", 18), ("withdraw", 18)]
BANDS = [
    Steps("hem_band", [*ONE_STOP, ("baste", 20.0), ("hem_knot", 100)]),
    Steps("ladder", [*ONE_STOP, ("ladder_knot", 200)]),
    Steps("ladder_paired", [*ONE_STOP, ("ladder_knot", 200), ("pair_knot", 50)]),
    Steps("serpentine", [*ONE_STOP, ("ladder_knot", 201)]),
    Steps("alternating", [*ONE_STOP, ("alternating_knot", 100)]),
    Steps(
        "tuck_band",
        [
            ("mark", 81.8),
            ("edge_stitch", 1.8),
            ("clip", 36),
            ("withdraw", 36),
            ("baste", 20.0),
            ("tuck_knot", 100),
        ],
    ),
]


@pytest.mark.parametrize("expected", BANDS, ids=[expected.kind for expected in BANDS])
def test_a_band_is_stitched_clipped_and_withdrawn_before_it_is_knotted(expected: Steps) -> None:
    assert listed(section_steps(expected.kind, band(expected.kind))) == expected.steps


def test_a_panel_is_cut_out_last() -> None:
    steps = panel_steps()
    assert listed(steps.before) == [("cut_block", 1), ("wash", 1), ("press", 1), ("trace", 1)]
    assert listed(steps.after) == [("retrace", 1), ("cut_out", 1)]


@pytest.mark.parametrize(
    ("kind", "work", "expected"),
    [
        ("tuck", PlainWork(length_mm=300), [("mark", 60.0), ("baste", 30.0), ("seam", 30.0)]),
        (
            "binding",
            PlainWork(length_mm=300, cut_length_mm=340, joins=2),
            [("cut_bias", 34.0), ("bias_join", 2), ("stitch_bias", 30.0), ("whip_bias", 30.0)],
        ),
        (
            "binding",
            PlainWork(length_mm=300),
            [("cut_bias", 30.0), ("stitch_bias", 30.0), ("whip_bias", 30.0)],
        ),
        ("seam", PlainWork(length_mm=123.4), [("seam", 12.4)]),
        ("lace", PlainWork(length_mm=304), [("lace", 30.4)]),
        ("motif", PlainWork(number=3), [("embroider", 3)]),
        ("closure", PlainWork(number=5), [("closure", 5)]),
    ],
)
def test_a_section_without_drawn_threads_has_its_own_steps(
    kind: str, work: PlainWork, expected: list[tuple[str, float]]
) -> None:
    assert listed(section_steps(kind, work)) == expected


@pytest.mark.parametrize(
    ("stop_lines", "ends", "secured_cm"), [(0, 0, None), (0, 1, 0.9), (0, 2, 1.8), (1, 1, 0.9), (2, 0, None)]
)
def test_open_ends_at_the_cutting_line_are_secured_last(stop_lines: int, ends: int, secured_cm: float | None) -> None:
    steps = listed(section_steps("ladder", band("ladder", stop_lines=stop_lines), at_cutting_line=ends))
    assert steps[-1] == (("secure", secured_cm) if secured_cm else ("ladder_knot", 200))


def test_both_strips_of_a_tuck_band_are_secured() -> None:
    assert listed(section_steps("tuck_band", band("tuck_band"), at_cutting_line=1))[-1] == ("secure", 1.8)


@pytest.mark.parametrize(
    ("stop_lines", "closed_round", "ends"), [(2, False, 1), (1, False, 2), (0, True, 1), (0, False, 3)]
)
def test_ends_that_the_band_does_not_have_cannot_be_secured(*, stop_lines: int, closed_round: bool, ends: int) -> None:
    with pytest.raises(Wrong, match="at_cutting_line"):
        section_steps(
            "ladder",
            band("ladder", stop_lines=stop_lines, closed_round=closed_round),
            at_cutting_line=ends,
        )


@pytest.mark.parametrize("kind", ["hem_band", "ladder"])
def test_a_facing_is_folded_and_basted_before_the_band_is_marked(kind: BandKind) -> None:
    steps = listed(section_steps(kind, band(kind), folded_first=True))
    assert steps[:2] == [("baste", 20.0), ("mark", 40.9)]
    assert [name for name, _ in steps].count("baste") == 1


@pytest.mark.parametrize(
    ("inside", "said"),
    [(0, "Right behind the stop line."), (1, "One thread behind"), (2, "2 threads behind the stop line.")],
)
def test_the_clip_step_says_where_to_clip(inside: int, said: str) -> None:
    clip = next(
        step for step in section_steps("ladder", band("ladder"), clip_inside_threads=inside) if step.operation == "clip"
    )
    assert said in clip.note
    assert "From the back" in clip.note


@given(
    kind=st.sampled_from(BAND_KINDS),
    withdrawn=st.integers(1, 60),
    standing=st.integers(1, 2000),
    stop_lines=st.integers(0, 2),
    closed_round=st.booleans(),
)
def test_every_step_has_work_its_own_unit_and_says_what_cannot_be_undone(
    kind: BandKind, withdrawn: int, standing: int, stop_lines: int, *, closed_round: bool
) -> None:
    ask = BandAsk(
        kind,
        20,
        19,
        withdraw_threads=withdrawn,
        standing_threads=standing,
        stop_lines=stop_lines,
        closed_round=closed_round,
    )
    for step in section_steps(kind, plan_band(ask)):
        operation = OPERATIONS[step.operation]
        assert step.quantity > 0
        assert (step.unit, step.cannot_be_undone) == (operation.unit, operation.cannot_be_undone)


@pytest.mark.parametrize(
    ("kind", "work", "field"),
    [
        ("fringe", PlainWork(length_mm=300), "kind"),
        ("ladder", PlainWork(length_mm=300), "work"),
        ("hem_band", band("ladder"), "kind"),
        ("seam", band("ladder"), "kind"),
        ("seam", PlainWork(length_mm=-1), "length_mm"),
        ("lace", PlainWork(length_mm=float("nan")), "length_mm"),
        ("binding", PlainWork(length_mm=300, cut_length_mm=-1), "cut_length_mm"),
        ("binding", PlainWork(length_mm=300, joins=-1), "joins"),
        ("motif", PlainWork(number=-1), "number"),
    ],
)
def test_work_that_is_not_the_sections_is_refused(kind: str, work: PlainWork | BandPlan, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        section_steps(kind, work)
    assert refused.value.field == field


@pytest.mark.parametrize("kind", PLAIN_KINDS)
def test_a_section_with_nothing_to_do_has_no_steps(kind: str) -> None:
    assert section_steps(kind, PlainWork()) == ()


@pytest.mark.parametrize(("stop_lines", "clipped"), [(0, False), (1, True), (2, True)])
def test_nothing_is_said_of_clipped_threads_where_none_are_clipped(stop_lines: int, *, clipped: bool) -> None:
    notes = {step.operation: step.note for step in section_steps("ladder", band("ladder", stop_lines=stop_lines))}
    assert ("clip" in notes) is clipped
    assert notes["withdraw"].startswith("Only clipped threads") is clipped
    assert ("nothing is clipped here" in notes["withdraw"]) is not clipped
