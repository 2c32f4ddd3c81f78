"""More questions than the good ones: every kind and word of the reckoning, for the answers kept in full."""

from dataclasses import replace
from itertools import product
from typing import get_args

from service.reckoning import (
    band_kinds,
    bands,
    bias,
    bias_block,
    blocks,
    bundles,
    folded,
    gates,
    growth,
    layout,
    marking,
    piecing,
    rescue,
    steer,
    stopping,
    strips,
    tube,
    tucks,
)
from service.reckoning.shapes import Rect
from tests.reckoning import (
    questions_of_designs,
    questions_of_drawn_edges,
    questions_of_edges,
    questions_of_figures,
    questions_of_plans,
    questions_of_summed_edges,
)
from tests.reckoning.good_questions import GOOD
from tests.reckoning.in_full import Questions, each

BAND = GOOD["band by threads"][1]


def _bands() -> Questions:
    asked = {
        f"{kind}{' closed' * closed} of {standing}": replace(
            BAND,
            kind=kind,
            standing_threads=standing,
            withdraw_threads=7,
            closed_round=closed,
            pair_rows=2,
        )
        for kind, closed, standing in product(band_kinds.BAND_KINDS, (False, True), (99, 100, 3))
    }
    odd = replace(BAND, standing_threads=101, into_seam=True, stop_lines=0)
    ways = [
        (replace(odd, kind=kind), way)
        for kind, way in product(("hem_band", "ladder_paired", "serpentine"), bands.LEFT_OVER_WAYS)
    ]
    return {
        **{name: (bands.plan_band, ask) for name, ask in asked.items()},
        **each("chosen", bands.apply_choice, *ways),
        **each("first thread", bands.first_thread_mm, (25.4, 3.175), (10.0, 0.0)),
        **each("rows of knots", band_kinds.rows_of_knots_mm, ("ladder", 5.0, 1), ("ladder_paired", 6.5, 2)),
        **each("spread sizes", bundles.spread_sizes, (98, 24), (11, 4), (12, 4)),
        "a bundle of one": (bands.plan_band, replace(BAND, kind="serpentine", bundle_threads=1)),
        "narrow": (bands.plan_band, replace(BAND, kind="ladder_paired", withdraw_threads=12, pair_rows=2)),
        "by millimetres": (bands.plan_band, bands.BandAsk("serpentine", 21.5, 18.2, width_mm=0.1, length_mm=155.0)),
    }


def _bias() -> Questions:
    ask = GOOD["bias"][1]
    return {
        "bias single": (bias.plan_bias, replace(ask, fold="single", cloth_height_mm=None, binding_seam_mm=None)),
        "bias closed": (bias.plan_bias, replace(ask, closed=True, edge_mm=3000.0, shortest_strip_mm=200.0)),
        "bias too little": (bias.plan_bias, replace(ask, edge_mm=40_000.0, keep_clear_at_mm=(100, 2000, 3100.0))),
        "bias narrow": (bias.plan_bias, bias.BiasAsk(9.0, "single", 800.0, 300.0, 900.0, keep_clear_at_mm=(400.0,))),
        **each("bias cut", bias.cut_width_mm, (6.0, "single"), (6.0, "double"), (6.0, "double", 5.0), (6.0, "x")),
        **each(
            "bias block",
            bias_block.bias_block,
            ((bias_block.Binding(900.0, 6.0), bias_block.Binding(400.0, 7.5, 5.0)), 1400.0),
            ((bias_block.Binding(3000.0, 6.0),), 900.0),
            ((bias_block.Binding(900.0, 600.0),), 700.0),
            ((), 1400.0),
        ),
        **each("join", piecing.join_of, (36.0, 6.0), (25.0, 0.0)),
        **each("along the grain", strips.along_straight_grain_mm, (36.0,)),
        **each("join loss", strips.join_loss_mm, (6.0,)),
        **each("most bias", strips.most_bias_mm, (36.0, 1500.0, 400.0)),
        **each("laps", tube.laps_of, (36.0, 600.0, 6.0), (36.0, 601.0, 0.0)),
        **each("lap", tube.lap_mm, (600.0, 6.0)),
        **each("least square", tube.least_square_mm, (36.0, 2000.0, 6.0), (25.0, 900.0, 5.0)),
        **{f"tube of {mm} mm": (tube.plan_tube, tube.TubeAsk(0.5, 1000.0, 0.0, mm)) for mm in (7071.2, 7072.0)},
        "tube of the least": (tube.plan_tube, tube.TubeAsk(36.0, 2000.0, 6.0)),
    }


def _cloth() -> Questions:
    many = layout.ClothAsk(
        (
            blocks.Block("front", 400, 700, 2),
            blocks.Block("sleeve", 310.5, 260, 3),
            blocks.Block("collar", 350, 110.2),
            blocks.Block("bias", 640, 400),
        ),
        900.0,
        10.0,
        4.0,
        2.5,
    )
    return {
        "cloth of many": (layout.plan_cloth, many),
        "cloth folded": (folded.plan_folded, many),
        "cloth folded, one": (folded.plan_folded, GOOD["cloth"][1]),
        "cloth of three widths": (lambda ask: layout.compare_widths(ask, (300.0, 900.0, 1400.0)), many),
        "cloth of no width": (lambda ask: layout.compare_widths(ask, ()), many),
    }


def _tucks() -> Questions:
    ask = GOOD["tucks"][1]
    return {
        "tucks inside": (tucks.plan_tucks, replace(ask, opening_inside=True, spacing_mm=None, tucks=4)),
        "tucks by thread": (tucks.plan_tucks, tucks.TucksAsk(3, 4.13, 19.3, 255.0, 31.1, 2.2)),
        "tucks inside, two": (tucks.plan_tucks, tucks.TucksAsk(2, 4.0, 20.0, 300.0, 10.0, 3.0, opening_inside=True)),
        "tucks close": (tucks.plan_tucks, tucks.TucksAsk(9, 3.0, 20.0, 100.0, 6.0, 2.0)),
        "tucks wide": (tucks.plan_tucks, tucks.TucksAsk(9, 3.0, 20.0, 100.0, 16.0)),
        **each("take-up", tucks.take_up_mm, (4.0, 2.0), (4.0,)),
        "take-up inside": (lambda asked: tucks.take_up_mm(asked[0], asked[1], opening_inside=True), (4.0, 2.0)),
        **each("tucks across", tucks.tucks_across, (300.0, 20.0, 25.0), (310.0, 0.0, 24.0), (50.0, 30.0, 5.0)),
        "growth of none deep": (growth.plan_growth_tucks, growth.GrowthAsk(50.0, 0.2, 20.0, 60.0)),
        "growth of one": (growth.plan_growth_tucks, growth.GrowthAsk(18.0, 10.0, 19.3, 60.0)),
    }


def _work() -> Questions:
    hand = GOOD["a band in hand"][1]
    stops: Questions = {}
    for kind, operation in product(band_kinds.BAND_KINDS, ("clip", "withdraw", "pair_knot", "KNOT")):
        knot = rescue.KNOTS_A_BUNDLE[kind][0] if operation == "KNOT" else operation
        if operation == "pair_knot" and kind != "ladder_paired":
            continue
        band = replace(hand, kind=kind, sizes=(4, 5, 4, 3, 6), stop_lines=2)
        stops |= each(
            f"{kind} stopped at {knot}", stopping.stopped, *((band, knot, done) for done in (0, 3, 5, 11, 400))
        )
    rows = (
        steer.SteerAsk("ladder", (4,) * 12, 4, 4, 35, 2),
        steer.SteerAsk("ladder_paired", (4,) * 13, 4, 5, 27, 0, "spread"),
        steer.SteerAsk("serpentine", (4,) * 12, 4, 6, 25, 5),
        steer.SteerAsk("tuck_band", (3, 4) * 6, 4, 6, 19, 1, "spread"),
        steer.SteerAsk("hem_band", (4,) * 12, 4, 10, 20, 1),
        steer.SteerAsk("hem_band", (4,) * 12, 4, 10, 20),
    )
    steering = {
        f"steered {place}": (lambda ask: (steer.steer(ask), steer.in_words(ask, steer.steer(ask))), ask)
        for place, ask in enumerate(rows)
    }
    return {**stops, **steering, **_troubles()}


def _troubles() -> Questions:
    band = rescue.InTrouble(
        "ladder",
        10,
        322,
        4,
        2,
        5.3,
        160.4,
        1,
        block_height_mm=420.0,
        cloth_on_hand_mm=900.0,
        tuck_length_mm=312.2,
        left={"ladder_knot": 40.0, "secure": 0.0},
        panel_done={"cut_block": 1.0, "withdraw": 10.0, "trace": 0.0},
    )
    found = [
        (trouble, replace(band, kind=kind))
        for trouble in rescue.TROUBLES
        for kind in (("hem_band", "serpentine", "tuck_band") if "c" in trouble else ("alternating",))
    ]
    found.append(("clipped wrongly", replace(band, knots_begun=True, cloth_on_hand_mm=400.5)))
    found.append(
        ("standing thread cut", replace(band, standing_threads=2, bundle_threads=1, cut_out=True, joined=True))
    )
    return {
        **each("ways out", rescue.ways_out, *found),
        **each("what to look at", lambda word: tuple(rescue.cautions(word)), *((one,) for one in rescue.TROUBLES)),
    }


def _tried(steps: tuple[gates.StepState, ...]) -> tuple[object, ...]:
    each_of_them = (
        (
            gates.refusal(steps, at, 2.5),
            gates.held_by(steps, at, 2.5),
            *(gates.refusal_to_take_back(steps, at, 2.5, kind) for kind in get_args(gates.TakingBack)),
        )
        for at in range(len(steps))
    )
    return (*each_of_them, gates.overruns(steps))


def _order() -> Questions:
    """Every kind of step on one panel and garment, each of them half done, counted on and taken back."""
    rows: tuple[tuple[str, gates.Owner, str | None, str | None], ...] = (
        ("cut_block", "panel", None, "front"),
        ("edge_stitch", "section", "hem", "front"),
        ("clip", "section", "hem", "front"),
        ("withdraw", "section", "hem", "front"),
        ("hem_knot", "section", "hem", "front"),
        ("pair_knot", "section", "ladder", "front"),
        ("cut_out", "panel", None, "front"),
        ("cut_bias", "garment", "binding", None),
        ("seam", "garment", "side", "front"),
    )
    half = [
        gates.StepState(name, 20, done, place, owner, section, panel)
        for done in (0, 10.5, 20)
        for place, (name, owner, section, panel) in enumerate(rows)
    ]
    states = {"none": half[:9], "half": half[9:18], "all": half[18:]}
    mixed = {
        f"{one} then {other}, {at}": (*states[one][:at], *states[other][at:])
        for one, other in (("half", "none"), ("all", "none"), ("all", "half"), ("none", "all"))
        for at in (0, 2, 4, 6)
    }
    return {f"order, {name}": (_tried, steps) for name, steps in mixed.items()}


def _marked() -> Questions:
    strips_ = (
        marking.StripToMark("Tuck", "across", Rect(0, 40, 100, 46), fold_mm=46.0, folded=True),
        marking.StripToMark("Outside", "across", Rect(0, 60, 100, 64), fold_mm=70.0, withdraw_threads=8),
        marking.StripToMark(
            "Inside",
            "across",
            Rect(0, 84, 100, 90),
            fold_mm=80.0,
            withdraw_threads=8,
            opening_inside=True,
        ),
        marking.StripToMark(
            "Slit",
            "down",
            Rect(47, 5, 51, 95),
            withdraw_threads=9,
            hoop=True,
            stops=marking.Stops(("start", "end")),
        ),
        marking.StripToMark(
            "Hem",
            "across",
            Rect(10, 110, 90, 113),
            withdraw_threads=6,
            folded=True,
            after_joining=True,
            stops=marking.Stops(("end",), chosen_at_the_cloth=True),
        ),
    )
    return {
        "lines to mark": (marking.lines_to_mark, marking.PanelToMark(21.0, 18.5, strips_)),
        "lines to mark of a tuck without a fold": (
            marking.lines_to_mark,
            marking.PanelToMark(20.0, 20.0, (replace(strips_[1], withdraw_threads=0, fold_mm=None),)),
        ),
        "lines to mark down": (
            marking.lines_to_mark,
            marking.PanelToMark(21.0, 18.5, tuple(replace(one, direction="down") for one in strips_[:3])),
        ),
    }


ALL: dict[str, Questions] = {
    "good": GOOD,
    "bands": _bands(),
    "bias": _bias(),
    "cloth": _cloth(),
    "tucks": _tucks(),
    "fit": questions_of_figures.of_fit(),
    "work": _work(),
    "order": _order(),
    "marking": _marked(),
    "sums": questions_of_figures.of_sums(),
    "hours": questions_of_figures.of_hours(),
    "thread": questions_of_figures.of_thread_and_yarn(),
    "warned": questions_of_figures.of_warned(),
    "faults": questions_of_designs.of_faults(),
    "designs": questions_of_designs.of_designs(),
    "log": questions_of_designs.of_the_log(),
    "plans": questions_of_plans.of_plans(),
    "edges": questions_of_edges.of_edges(),
    "drawn edges": questions_of_drawn_edges.of_edges_drawn(),
    "summed edges": questions_of_summed_edges.of_summed_edges(),
}
# Divides by what is changed to nothing, or takes too long.
NEVER_CHANGED = ("up to a step", "most bias", "laps", "least square", "tube of", "grown", "for a bust", "cloth to")
# What is asked once more with one thing changed, and at which so-and-so-manyth change of it.
CHANGED = {
    "good": 1,
    "tucks": 1,
    "fit": 1,
    "sums": 1,
    "hours": 1,
    "thread": 1,
    "bands": 4,
    "bias": 4,
    "cloth": 7,
    "work": 1,
    "order": 1,
    "marking": 1,
    "warned": 1,
    "plans": 5,
}
TO_CHANGE: dict[str, Questions] = {
    group: {name: question for name, question in ALL[group].items() if not name.startswith(NEVER_CHANGED)}
    for group in CHANGED
}
