from dataclasses import replace
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.bands import BandAsk, plan_band
from service.reckoning.gates import KNOTS, Owner, StepState, TakingBack, overruns, refusal, refusal_to_take_back
from service.reckoning.operations import OPERATIONS
from service.reckoning.steps import PLAIN_KINDS, PlainWork, StepPlan, panel_steps, section_steps

BANDS = st.builds(
    BandAsk,
    kind=st.sampled_from(BAND_KINDS),
    withdrawn_threads_per_cm=st.just(20.0),
    standing_threads_per_cm=st.just(19.0),
    withdraw_threads=st.integers(1, 6),
    standing_threads=st.integers(1, 40),
    stop_lines=st.integers(0, 2),
    closed_round=st.booleans(),
    pair_rows=st.integers(1, 2),
)
SECTIONS = st.one_of(
    BANDS.map(lambda ask: section_steps(ask.kind, plan_band(ask))),
    st.sampled_from(PLAIN_KINDS).map(lambda kind: section_steps(kind, PlainWork(length_mm=40, joins=1, number=2))),
)


def states_of(steps: tuple[StepPlan, ...], owner: Owner, section: str | None, panel: str | None) -> list[StepState]:
    return [StepState(step.operation, step.quantity, 0, 0, owner, section, panel) for step in steps]


@st.composite
def garments(draw: st.DrawFn) -> list[StepState]:
    """A garment not begun: one or two panels with their sections, and sections of the joined garment."""
    states: list[StepState] = []
    for panel in draw(st.sampled_from([["front"], ["front", "back"]])):
        states += states_of(panel_steps().before, "panel", None, panel)
        for number, steps in enumerate(draw(st.lists(SECTIONS, max_size=3))):
            states += states_of(steps, "section", f"{panel}-{number}", panel)
        states += states_of(panel_steps().after, "panel", None, panel)
    for number, steps in enumerate(draw(st.lists(SECTIONS, max_size=2))):
        states += states_of(steps, "garment", f"joined-{number}", draw(st.sampled_from([None, "front"])))
    return [replace(state, position=position) for position, state in enumerate(states)]


def ruins(states: list[StepState]) -> list[str]:
    """What is spoilt on the cloth, looked at section by section and panel by panel."""
    spoilt = []
    for key in {state.section for state in states if state.section}:
        mine = {state.operation: state for state in states if state.section == key}
        knotted = sum(mine[name].done for name in KNOTS & mine.keys())
        clipped = mine["clip"].done if "clip" in mine else 0
        drawn = mine["withdraw"].done if "withdraw" in mine else 0
        if clipped and "edge_stitch" in mine and not whole(mine["edge_stitch"]):
            spoilt.append(f"{key}: clipped past an unfinished stop line")
        if "clip" in mine and drawn * mine["clip"].quantity > clipped * mine["withdraw"].quantity:
            spoilt.append(f"{key}: a thread torn out that was not clipped")
        if knotted and "withdraw" in mine and not whole(mine["withdraw"]):
            spoilt.append(f"{key}: knotted over threads that are still in")
    panels = {state.panel for state in states if state.owner == "panel"}
    cut_out = {state.panel for state in states if state.operation == "cut_out" and state.done}
    uncut = {state.panel for state in states if state.operation == "cut_block" and not state.done}
    spoilt += [
        f"{state.panel}: cut out with {state.section} unfinished"
        for state in states
        if state.owner == "section" and state.panel in cut_out and not whole(state)
    ]
    spoilt += [
        f"{state.panel}: worked while still on the bolt" for state in states if state.panel in uncut and state.done
    ]
    spoilt += [
        f"{state.section}: worked before joining"
        for state in states
        if state.owner == "garment" and state.done and not ({state.panel} if state.panel else panels) <= cut_out
    ]
    return spoilt


def whole(state: StepState) -> bool:
    return state.done > state.quantity - 1e-6


class Try(NamedTuple):
    """One count somebody tries: how much, which way, and on which step.

    Most tries are made where the work has got to, a few steps either way; else no band would be reached.
    """

    step: int
    anywhere: bool
    share: float
    way: TakingBack | None


TRIES = st.lists(
    st.builds(
        Try,
        step=st.integers(0, 200),
        anywhere=st.sampled_from([False, False, False, True]),
        share=st.sampled_from([0.3, 0.5, 1.0, 1.0]),
        way=st.sampled_from([None, None, None, "counter", "unpick"]),
    ),
    min_size=10,
    max_size=80,
)


def index_of(states: list[StepState], attempt: Try) -> int:
    reached = next((place for place, state in enumerate(states) if not whole(state)), 0)
    place = attempt.step if attempt.anywhere else reached - 2 + attempt.step % 6
    return place % len(states)


def tried(states: list[StepState], attempt: Try) -> list[StepState]:
    """The garment after the attempt: unchanged when it was refused."""
    index = index_of(states, attempt)
    step = states[index]
    room = step.quantity - step.done if attempt.way is None else step.done
    counted = room if attempt.share == 1 else min(room, max(1, round(room * attempt.share)))
    if counted <= 0:
        return states
    if attempt.way is None:
        if refusal(states, index, counted):
            return states
        return [*states[:index], replace(step, done=step.done + counted), *states[index + 1 :]]
    if refusal_to_take_back(states, index, counted, attempt.way):
        return states
    return [*states[:index], replace(step, done=step.done - counted), *states[index + 1 :]]


@settings(max_examples=60, deadline=None)
@given(garments(), TRIES)
def test_no_order_of_allowed_counts_leaves_a_step_further_than_it_may_be(
    states: list[StepState], tries: list[Try]
) -> None:
    for attempt in tries:
        states = tried(states, attempt)
    assert overruns(states) == ()


@settings(max_examples=120, deadline=None)
@given(garments(), TRIES)
def test_no_order_of_allowed_counts_ruins_the_cloth(states: list[StepState], tries: list[Try]) -> None:
    for attempt in tries:
        states = tried(states, attempt)
        assert ruins(states) == []


@settings(max_examples=50, deadline=None)
@given(garments(), TRIES)
def test_every_garment_can_be_finished_from_wherever_it_stands(states: list[StepState], tries: list[Try]) -> None:
    for attempt in tries:
        states = tried(states, attempt)
    for _ in states:
        for index in range(len(states)):
            states = tried(states, Try(index, anywhere=True, share=1.0, way=None))
    assert all(whole(state) for state in states)


@given(garments())
def test_the_planned_order_is_never_refused(states: list[StepState]) -> None:
    for index, step in enumerate(states):
        if step.quantity:
            assert refusal(states, index, step.quantity) is None
            states[index] = replace(step, done=step.quantity)


def test_the_check_for_ruin_sees_every_ruin() -> None:
    ask = BandAsk("hem_band", 20, 19, withdraw_threads=4, standing_threads=4)
    states = [
        *states_of(panel_steps().before, "panel", None, "front"),
        *states_of(section_steps("hem_band", plan_band(ask)), "section", "hem", "front"),
        StepState("cut_out", 1, 0, 0, "panel", None, "front"),
        StepState("cut_out", 1, 0, 0, "panel", None, "back"),
        *states_of(section_steps("seam", PlainWork(length_mm=40)), "garment", "side", None),
    ]
    done = {"clip": 1, "withdraw": 2, "hem_knot": 1, "seam": 1}
    worked = [replace(state, done=done.get(state.operation, 0)) for state in states]
    assert set(ruins(worked)) == {
        "hem: clipped past an unfinished stop line",
        "hem: a thread torn out that was not clipped",
        "hem: knotted over threads that are still in",
        "front: worked while still on the bolt",
        "side: worked before joining",
    }
    cut = [replace(state, done=float(state.operation in {"cut_block", "cut_out"})) for state in states]
    assert set(ruins(cut)) == {"front: cut out with hem unfinished"}


def hem(**done: float) -> list[StepState]:
    quantities = {"edge_stitch": 30.0, "clip": 36, "withdraw": 18, "baste": 25.0, "hem_knot": 99}
    return [
        StepState(name, quantity, done.get(name, 0), place, "section", "hem", "front")
        for place, (name, quantity) in enumerate(quantities.items())
    ]


EDGE, CLIP, WITHDRAW, BASTE, KNOT = range(5)


@pytest.mark.parametrize(
    ("states", "index", "counted", "sentence"),
    [
        (hem(), CLIP, 1, "Clip only when the edge stitching is complete: 0 of 30 cm done."),
        (hem(edge_stitch=29.9), CLIP, 1, "Clip only when the edge stitching is complete: 29.9 of 30 cm done."),
        (hem(edge_stitch=30), CLIP, 36, None),
        (hem(edge_stitch=30, clip=3), WITHDRAW, 1, None),
        (hem(edge_stitch=30, clip=3), WITHDRAW, 2, "Withdraw only threads that are clipped: 1 of 18 are clipped free."),
        (hem(clip=36, withdraw=17), KNOT, 1, "Knot only when the withdrawing is complete: 17 of 18 threads done."),
        (hem(clip=36, withdraw=18), KNOT, 99, None),
        (hem(), BASTE, 25, None),
        (hem(edge_stitch=2), EDGE, 28, None),
    ],
)
def test_counting_on_a_band_follows_its_order(
    states: list[StepState], index: int, counted: float, sentence: str | None
) -> None:
    assert refusal(states, index, counted) == sentence


@pytest.mark.parametrize(
    ("states", "index", "kind", "sentence"),
    [
        (hem(edge_stitch=30), EDGE, "unpick", None),
        (
            hem(edge_stitch=30, clip=1),
            EDGE,
            "unpick",
            "The clipping has begun and rests on this edge stitching, which must stay complete.",
        ),
        (hem(edge_stitch=30, clip=3), CLIP, "counter", None),
        (
            hem(edge_stitch=30, clip=3),
            CLIP,
            "unpick",
            "Clipped threads cannot be put back; only a wrong entry can be taken back.",
        ),
        (
            hem(edge_stitch=30, clip=4, withdraw=2),
            CLIP,
            "counter",
            "2 threads are withdrawn already: the clips that freed them cannot be taken back.",
        ),
        (hem(edge_stitch=30, clip=5, withdraw=2), CLIP, "counter", None),
        (
            hem(edge_stitch=30, clip=36, withdraw=18, hem_knot=5),
            WITHDRAW,
            "counter",
            "The knotting has begun and rests on this withdrawing, which must stay complete.",
        ),
        (hem(edge_stitch=30, clip=36, withdraw=18, hem_knot=5), KNOT, "unpick", None),
    ],
)
def test_taking_back_leaves_nothing_without_what_it_rests_on(
    states: list[StepState], index: int, kind: TakingBack, sentence: str | None
) -> None:
    assert refusal_to_take_back(states, index, 1, kind) == sentence


def panel(name: str, *, block: float = 1, out: float = 0) -> list[StepState]:
    return [
        StepState("cut_block", 1, block, 0, "panel", None, name),
        StepState("cut_out", 1, out, 9, "panel", None, name),
    ]


def lace(owner: Owner, panel_key: str | None, done: float = 0) -> StepState:
    return StepState("lace", 30, done, 5, owner, "edging", panel_key)


@pytest.mark.parametrize(
    ("states", "index", "sentence"),
    [
        (
            [*panel("front", block=0), lace("section", "front")],
            2,
            "Cut the block off the cloth before anything else on this panel.",
        ),
        (
            [*panel("front", block=0), *panel("back")],
            1,
            "Cut the block off the cloth before anything else on this panel.",
        ),
        ([*panel("front", block=0), lace("section", "back")], 2, None),
        (
            [*panel("front"), lace("section", "front", 29)],
            1,
            "Cut out only when every section of this panel is complete: edging still wants its lace, 29 of 30 cm done.",
        ),
        ([*panel("front"), lace("section", "front", 30)], 1, None),
        ([*panel("front"), lace("section", "back")], 1, None),
        ([*panel("front"), lace("garment", "front")], 1, None),
        ([*panel("front"), lace("garment", "front")], 2, "This belongs to the joined garment: cut out front first."),
        (
            [*panel("front", out=1), *panel("back"), lace("garment", None)],
            4,
            "This belongs to the joined garment: cut out back first.",
        ),
        ([*panel("front", out=1), *panel("back"), lace("garment", "front")], 4, None),
    ],
)
def test_panels_are_cut_off_first_and_cut_out_last(states: list[StepState], index: int, sentence: str | None) -> None:
    assert refusal(states, index, 1) == sentence


@pytest.mark.parametrize(
    ("states", "index", "sentence"),
    [
        (
            [*panel("front"), lace("section", "front", 1)],
            0,
            "The lace of edging has begun and rests on this cutting of the block, which must stay complete.",
        ),
        (
            [*panel("front", out=1), lace("section", "front", 30)],
            2,
            "The cutting out has begun and rests on this lace, which must stay complete.",
        ),
        (
            [*panel("front", out=1), lace("garment", None, 2)],
            1,
            "The lace of edging has begun and rests on this cutting out, which must stay complete.",
        ),
        ([*panel("front", out=1), lace("garment", None)], 1, None),
    ],
)
def test_a_wrong_entry_on_a_panel_is_taken_back_only_while_nothing_rests_on_it(
    states: list[StepState], index: int, sentence: str | None
) -> None:
    assert refusal_to_take_back(states, index, 1, "counter") == sentence


@pytest.mark.parametrize("name", sorted(OPERATIONS))
def test_only_work_that_can_be_undone_is_unpicked(name: str) -> None:
    sentence = refusal_to_take_back([StepState(name, 10, 5, 0, "garment")], 0, 1, "unpick")
    assert (sentence is not None) == OPERATIONS[name].cannot_be_undone


def test_a_wrong_step_count_or_way_is_refused() -> None:
    for counted in (0, -1, float("nan")):
        with pytest.raises(Wrong, match="counted"):
            refusal(hem(), EDGE, counted)
    with pytest.raises(Wrong, match="index"):
        refusal(hem(), 5, 1)
    with pytest.raises(Wrong, match="kind"):
        refusal_to_take_back(hem(edge_stitch=1), EDGE, 1, "work")  # type: ignore[arg-type]


def test_a_step_is_begun_and_finished_by_what_is_done() -> None:
    step = StepState("baste", 0.3, 0.1 + 0.2, 0, "garment")
    assert (step.begun, step.finished) == (True, True)
    assert (replace(step, done=0).begun, replace(step, done=0.2).finished) == (False, False)
