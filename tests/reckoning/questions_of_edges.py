"""Questions on the very edge of a rule, and those that are refused only deep inside, for the answers kept in full."""

from dataclasses import replace

from service.reckoning import (
    asked,
    band_findings,
    band_kinds,
    bands,
    bundles,
    carry_findings,
    counts,
    gates,
    in_hand,
    operations,
    recount,
    rescue,
    shrink,
    steer,
    steps,
    stopping,
    tension,
    yarn,
)
from service.reckoning.designs import ClothCounts
from tests.reckoning.good_questions import GOOD
from tests.reckoning.in_full import Questions, each


def of_edges() -> Questions:
    """Those of figures, bands, steps and gates."""
    return {**_figures(), **_bands(), **_steps(), **_gates()}


def _figures() -> Questions:
    return {
        **each("finite", asked.finite, ("n", 10**15), ("n", 10**15 + 1), ("n", -(10**15) - 1), ("n", True), ("n", "3")),
        **each("above zero", asked.above_zero, ("n", 1e-9), ("n", 9.9e-10), ("n", 1e9), ("n", 1.1e9), ("n", 5, 5)),
        **each("not below", asked.not_below, ("n", 0), ("n", -1e-9), ("n", 1e9), ("n", 1000000001), ("n", 3, 3, 3)),
        **each(
            "whole", asked.whole, ("n", 2.0), ("n", 2.5), ("n", 1), ("n", 0), ("n", 1e6), ("n", 1000001), ("n", True)
        ),
        **each("a count", counts.checked_count, ("c", 0.1), ("c", 0.099), ("c", 1000.0), ("c", 1000.1), ("c", 0)),
        **each("distance asked", counts.distance_asked, (9.99,), (10.0,), (24.9,), (25.0,), (39.9,), (40.0,)),
        **each("threads in", counts.threads_in, (0.0, 20.0), (0.2499, 20.0), (0.25, 20.0), (0.75, 20.0), (1e9, 1e3)),
        **each(
            "threads of",
            lambda *asked_: counts.findings_of(tuple(counts.Reading(*one) for one in asked_)),
            ((100, 50.0),) * 5,
            ((100, 50.0), (110, 50.0), (105, 50.0), (105, 50.0), (105, 50.0)),
            ((100, 50.0), (113, 50.0), (105, 50.0), (105, 50.0), (105, 50.0)),
            ((72, 30.0),) * 4,
            ((95, 50.0), (100, 50.0), (105, 50.0)),
        ),
        **each(
            "so many places", lambda many: counts.count_of((counts.Reading(100, 50.0),) * many), (0,), (1000,), (1001,)
        ),
        "converted from nothing": (lambda to: counts.convert(to_threads_per_cm=to), 20.0),
        "converted without a count": (lambda to: counts.convert(threads=3, to_threads_per_cm=to), 20.0),
        "converted by width": (lambda to: counts.convert(width_mm=9.144, to_threads_per_cm=to), 30.0),
        "converted too far": (
            lambda to: counts.convert(threads=10**6, from_threads_per_cm=0.1, to_threads_per_cm=to),
            1000.0,
        ),
        **each(
            "swatch",
            lambda *ends: shrink.shrink_test(shrink.Swatch((500.0,), (ends[0],), (600.0,), (ends[1],))),
            (500.0, 600.0),
            (450.0, 539.0),
            (449.0, 601.0),
            (250.0, 900.0),
            (249.0, 600.0),
            (500.0, 901.0),
        ),
        "swatch of nothing": (lambda none: shrink.shrink_test(shrink.Swatch(none, none, (5.0,), (5.0,))), ()),
        "swatch of two and one": (
            lambda two: shrink.shrink_test(shrink.Swatch((5.0,), (5.0,), two, (5.0,))),
            (5.0, 5.0),
        ),
        **each("cut for", shrink.cut_mm, (10.0, 0.0), (10.0, 50.0), (10.0, 50.1), (10.0, -0.1)),
        **each(
            "counted again",
            lambda a, b: shrink.recount_findings(ClothCounts(20.0, 19.0), ClothCounts(a, b)),
            (20.1, 19.09),
            (20.09, 18.9),
            (19.5, 21.0),
        ),
        **each(
            "after washing", shrink.counts_after, (ClothCounts(20.0, 19.0), -50.0, 50.0), (ClothCounts(9, 9), -51, 0)
        ),
        **each(
            "in hands",
            lambda a, b: tension.tension_finding(tension.Sample(20.0, 20.0), tension.Sample(a, b)),
            (21.0, 21.0),
            (19.0, 19.0),
            (21.1, 21.1),
            (18.9, 18.9),
        ),
        **each("cloth burns", yarn.burning_findings, (88.2, ""), (50.0, " Wool "), (50.0, "Linen"), (0.0, "")),
        **each("cloth is square", yarn.square_findings, (21.0, 20.0), (21.1, 20.0), (20.0, 21.1), (20.0, 21.0)),
    }


def _bands() -> Questions:
    gap = each(
        "rows close",
        band_findings.rows_close,
        *(("ladder", 0.99, 1), ("ladder", 1.0, 1), ("ladder_paired", 1.9, 1), ("ladder_paired", 2.0, 1)),
        *(("ladder_paired", 5.0, 2), ("ladder_paired", 7.0, 2), ("ladder_paired", 6.0, 2), ("hem_band", 0.1, 1)),
    )
    kinds = {
        f"knots of {bundles} {kind} {closed} {rows}": (
            lambda ask: band_kinds.knots_of(ask[0], ask[1], closed_round=ask[2], pair_rows=ask[3]),
            (kind, bundles, closed, rows),
        )
        for kind in band_kinds.BAND_KINDS
        for bundles, closed, rows in ((0, False, 1), (1, True, 2), (2, False, 1), (5, True, 2))
    }
    even = each(
        "even wanted",
        lambda kind, closed: band_kinds.bundles_come_in(kind, closed_round=closed) == 2,
        *((kind, closed) for kind in band_kinds.BAND_KINDS for closed in (False, True)),
    )
    rows = each(
        "rows",
        band_kinds.rows_of_knots_mm,
        *((kind, 9.0, number) for kind in band_kinds.BAND_KINDS for number in (1, 2)),
    )
    steered = steer.SteerAsk("ladder_paired", (4,) * 7, 4, 3, 17, 1)
    mirror = steer.MirrorRow("Left band", (4,) * 7)
    opposite = each(
        "opposite",
        lambda ask, row: steer.opposite(ask, steer.steer(ask), row),
        (steered, mirror),
        (steered, replace(mirror, turned=False)),
        (replace(steered, kind="ladder"), mirror),
        (replace(steered, sizes=(4,) * 8, threads_left=21), replace(mirror, sizes=(4,) * 8)),
        (steered, replace(mirror, tied=2)),
        (steered, replace(mirror, sizes=(4,) * 6)),
        (steered, replace(mirror, sizes=(4, 4, 4, 4, 4, 4, 5))),
    )
    ways = each(
        "steered and said",
        lambda *at: steer.in_words(steer.SteerAsk(*at), steer.steer(steer.SteerAsk(*at))),
        ("ladder", (4,) * 6, 4, 3, 12),
        ("ladder", (4,) * 6, 4, 3, 13),
        ("ladder", (4,) * 6, 4, 3, 11, 1),
        ("ladder", (4,) * 6, 4, 3, 15),
        ("ladder", (4,) * 6, 4, 3, 16),
        ("ladder", (4,) * 6, 4, 3, 9),
        ("ladder", (2,) * 6, 2, 3, 5),
        ("ladder", (4,) * 6, 4, 0, 25),
        ("ladder", (4,) * 6, 4, 3, 13, 3),
        ("ladder", (4, 5, 4, 3, 4, 5), 4, 3, 13, 0, "spread"),
        ("serpentine", (4,) * 9, 4, 3, 26, 0, "spread"),
        ("ladder_paired", (4,) * 9, 4, 4, 22, 0, "spread"),
        ("ladder_paired", (4,) * 9, 4, 5, 18, 0),
        ("ladder", (1,) * 6, 1, 3, 6),
        ("ladder", (1,) * 6, 1, 3, 7),
    )
    band = rescue.InTrouble("ladder", 10, 322, 4, 0, 5.3, 160.4)
    troubles = each(
        "way out",
        rescue.ways_out,
        ("clipped wrongly", band),
        ("clipped wrongly", replace(band, stop_lines=1, block_height_mm=9.0, cloth_on_hand_mm=9.0)),
        ("standing thread cut", replace(band, standing_threads=1, cut_out=True)),
        ("grown", band),
        ("grown", replace(band, tuck_length_mm=0.0)),
        ("burnt", band),
    )
    in_hand_ = stopping.BandInHand("ladder", (4, 5), 3, 2)
    stops = each(
        "stops at",
        stopping.stopped,
        *((replace(in_hand_, stop_lines=lines), "clip", done) for lines in (1, 2) for done in (0, 2, 3, 6, 9)),
        *((replace(in_hand_, closed_round=True, kind=kind), "clip", 1) for kind in ("ladder", "tuck_band")),
        (replace(in_hand_, stop_lines=0), "clip", 0),
        *((replace(in_hand_, kind="tuck_band"), "withdraw", done) for done in (2, 3, 6)),
        (replace(in_hand_, kind="ladder_paired", sizes=(4, 5, 6)), "pair_knot", 0),
        (replace(in_hand_, kind="ladder_paired", sizes=(4, 5, 6), pair_rows=2), "pair_knot", 1),
        (replace(in_hand_, kind="serpentine", sizes=()), "ladder_knot", 0),
        (replace(in_hand_, kind="serpentine", closed_round=True), "ladder_knot", 3),
        *((replace(in_hand_, kind="serpentine"), "ladder_knot", done) for done in (1, 2, 3, 4, 5)),
        (replace(in_hand_, work_direction="right to left"), "ladder_knot", 2),
        (in_hand_, "hem_knot", 0),
    )
    return {
        **gap,
        **kinds,
        **even,
        **rows,
        **opposite,
        **ways,
        **troubles,
        **stops,
        **each("left over", band_findings.left_over, (97, 4), (99, 4), (98, 4), (3, 4)),
        **each("uneven bundle", band_findings.uneven_bundle, (1,), (2,), (5,)),
        **each("odd bundles", band_findings.odd_bundles, ("ladder_paired", 5), ("alternating", 7)),
        **each("clusters", bundles.clusters, (0, 2), (1, 2), (2, 2), (5, 3)),
        **each("spread", bundles.spread_sizes, (0, 3), (3, 3), (10, 4), (11, 4)),
        **each("no stop line", carry_findings.no_stop_line, (1, 0), (1, 1), (2, 0), (2, 1)),
        **each("bands close", carry_findings.bands_close, ("Hem", 0.456), ("Hem", 1.0)),
        **each("crosses", carry_findings.crosses, ("Hem",)),
        **each("counts differ", carry_findings.counts_differ, ()),
    }


def _steps() -> Questions:
    recounted = (
        ("ladder_knot", 198, 194, 194),
        ("pair_knot", 0, 0, 1),
        ("mark", 0.3, 0.1 + 0.2, 0.2),
        ("mark", 0.7 + 0.1, 0.8, 0.9),
        ("mark", 0.0, 0.0, 0.5),
        ("mark", 40.0, 0.5, 41.0),
        ("mark", 40.0, 30.0, 20.0),
        ("withdraw", 12, 12, 10),
        ("edge_stitch", 0.3, 0.1 + 0.2, 0.3),
        ("hem_knot", 0.3, 0.1 + 0.2, 0.3),
        ("hem_knot", 10, 5.5, 5.0),
        ("knit", 1, 1, 1),
    )
    return {
        **each(
            "counted anew",
            lambda name, *at: recount.requantified(name, quantity=at[0], done=at[1], planned=at[2]),
            *recounted,
        ),
        **each(
            "passes",
            in_hand.fitted,
            *(((66, 66), 66), ((66, 66), 67), ((66, 66), 65), ((66, 66), 0), ((5, 0, 5), 10)),
            *(((0.1, 0.2, 4.0), 0.1 + 0.2), ((1.0, 2.0), -1.0), ((3, 3, 3), 12), ((3,), 0.5)),
        ),
        **each(
            "pass in hand",
            in_hand.pass_in_hand,
            *(((66, 66), 0), ((66, 66), 65), ((66, 66), 66), ((66, 66), 140), ((0.3, 4.0), 0.1 + 0.2)),
            *(((0.1 + 0.2, 4.0), 0.3), ((), 0), ((3, 3), -1), ((1, 1, 1), 2)),
        ),
        **each(
            "counted up to",
            in_hand.counted_to,
            *(((66, 66), 70, 66), ((66, 66), 70, 67), ((66, 66), 70, 5), ((66, 66), 70, 4), ((0.8,), 0, 0.1 * 8)),
            *(((0.5,), 0.1 + 0.2, 0.3), ((2.0, 0.1 + 0.2), 2.0, 0.3), ((2.0, 0.3), 2.0, 0.1 + 0.2)),
        ),
        **each(
            "a needleful of",
            in_hand.units_in_needleful,
            *(
                ("hem_knot", 0.0),
                ("hem_knot", None),
                ("hem_knot", 500.0),
                ("knit", 1.0),
                ("clip", 1.0),
                ("cut_out", None),
            ),
        ),
        **each(
            "amount of", operations.amount, ("edge_stitch", 0.05), ("edge_stitch", 0.049), ("clip", 0), ("clip", 2.5)
        ),
        **each(
            "works",
            steps.section_steps,
            ("lace", steps.PlainWork()),
            ("knit", steps.PlainWork()),
            ("ladder", steps.PlainWork()),
            ("binding", steps.PlainWork(100.0, 130.0, 2)),
            ("binding", steps.PlainWork(100.0, 0.0)),
            ("motif", steps.PlainWork(number=-1)),
            ("tuck", steps.PlainWork(length_mm=-1.0)),
            ("hem_band", bands.plan_band(GOOD["band by threads"][1])),
        ),
        **{
            f"clipped {inside} inside, {ends} ends": (
                lambda ask: steps.section_steps(
                    "ladder",
                    bands.plan_band(replace(GOOD["band by threads"][1], stop_lines=1)),
                    at_cutting_line=ask[1],
                    clip_inside_threads=ask[0],
                ),
                (inside, ends),
            )
            for inside, ends in ((0, 0), (1, 1), (2, 2), (101, 0), (100, 1), (None, 1))
        },
    }


def _gates() -> Questions:
    """One step after another on one panel, at the dust of a length and one unit from the end."""
    cut = gates.StepState("cut_block", 1, 1, 0, "panel", None, "front")
    edge = gates.StepState("edge_stitch", 0.3, 0.1 + 0.2, 1, "section", "hem", "front")
    clip = gates.StepState("clip", 36, 8, 2, "section", "hem", "front")
    draw_ = gates.StepState("withdraw", 18, 3, 3, "section", "hem", "front")
    knot = gates.StepState("hem_knot", 1, 0, 4, "section", "hem", "front")
    out = gates.StepState("cut_out", 1, 0, 5, "panel", None, "front")
    seam = gates.StepState("seam", 20, 0, 6, "garment", "side", "front")
    lone = gates.StepState("press", 1, 0, 7, "garment", None, None)
    back = gates.StepState("cut_out", 1, 0, 8, "panel", None, "back")
    row = (cut, edge, clip, draw_, knot, out, seam, lone, back)
    variants: dict[str, tuple[gates.StepState, ...]] = {
        "as it is": row,
        "the edge a tenth short": (cut, replace(edge, done=0.2), *row[2:]),
        "the edge a hair short": (cut, replace(edge, done=0.3 - 9e-7), *row[2:]),
        "nothing cut": (replace(cut, done=0), *row[1:]),
        "a hair done": (replace(cut, done=0), edge, replace(clip, done=9e-7), *row[3:]),
        "one clip a thread": (cut, edge, replace(clip, quantity=18, done=4), *row[3:]),
        "nothing to withdraw": (cut, edge, clip, replace(draw_, quantity=0, done=0), *row[4:]),
        "all drawn": (cut, edge, replace(clip, done=36), replace(draw_, done=18), *row[4:]),
        "knotted": (cut, edge, replace(clip, done=36), replace(draw_, done=18), replace(knot, done=1), *row[5:]),
        "cut out": (
            *(replace(step, done=step.quantity) for step in row[:6]),
            *row[6:],
        ),
    }
    return {
        f"gates, {name}": (
            lambda states: (
                tuple(
                    (
                        gates.refusal(states, at, counted),
                        gates.held_by(states, at, counted),
                        gates.refusal_to_take_back(states, at, counted, "counter"),
                        gates.refusal_to_take_back(states, at, counted, "unpick"),
                    )
                    for at in range(len(states))
                    for counted in (0.1, 1.0)
                )
                + gates.overruns(states)
            ),
            states,
        )
        for name, states in variants.items()
    } | each(
        "gates of",
        gates.refusal,
        (row, -1, 1.0),
        (row, 9, 1.0),
        (row, 0, 0.0),
    )
