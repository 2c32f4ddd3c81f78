"""What cannot be is refused in a sentence for the person, at the field it was typed in."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from math import nan

import pytest

from service.reckoning import (
    bands,
    bias,
    blocks,
    bundles,
    counts,
    designs,
    fit,
    gates,
    growth,
    layout,
    lengths,
    marking,
    operations,
    recount,
    shrink,
    steer,
    steps,
    stopping,
    thread,
    tube,
    tucks,
    yarn,
)
from tests.reckoning.good_questions import GOOD, odd, told

LADDER = GOOD["band by threads"][1]
BIND = GOOD["bias"][1]
CHILD = GOOD["fit"][1]
GROWS = GOOD["growth"][1]
LAID = GOOD["cloth"][1]
TUCKED = GOOD["tucks"][1]
STEERED = steer.SteerAsk("ladder", (4, 4, 4, 4), 4, 2, 8)
SWATCH = GOOD["swatch"][1]


REFUSALS: list[tuple[Callable[[], object], str]] = [
    (
        lambda: bands.plan_band(replace(LADDER, kind="hem")),
        "kind: must be one of hem_band, ladder, ladder_paired, serpentine, alternating, tuck_band, not 'hem'",
    ),
    (
        lambda: bands.plan_band(replace(LADDER, width_mm=6)),
        "withdraw_threads: give withdraw_threads or width_mm, one of the two",
    ),
    (
        lambda: bands.plan_band(replace(LADDER, withdraw_threads=None)),
        "withdraw_threads: give withdraw_threads or width_mm, one of the two",
    ),
    (
        lambda: bands.plan_band(replace(LADDER, length_mm=6)),
        "standing_threads: give standing_threads or length_mm, one of the two",
    ),
    (lambda: bands.plan_band(replace(LADDER, closed_round=1)), "closed_round: must be yes or no"),
    (lambda: bands.plan_band(replace(LADDER, into_seam=1)), "into_seam: must be yes or no"),
    (lambda: bands.first_thread_mm(0, 1), "hem_width_mm: must be above zero, not 0 mm"),
    (lambda: bands.first_thread_mm(1, -1), "first_turn_mm: must be at least 0 mm, not -1 mm"),
    (lambda: bias.cut_width_mm(6, odd("triple")), "fold: must be double or single, not 'triple'"),
    (
        lambda: bias.plan_bias(replace(BIND, finished_width_mm=0.01, binding_seam_mm=None, cloth_height_mm=400)),
        "cloth_height_mm: gives 22091 strips, more than 10000: ask for less at a time",
    ),
    (
        lambda: bias.plan_bias(
            replace(BIND, finished_width_mm=0.01, binding_seam_mm=None, cloth_height_mm=None, edge_mm=900_000)
        ),
        "edge_mm: gives 17954 strips, more than 10000: ask for less at a time",
    ),
    (
        lambda: bias.plan_bias(replace(BIND, cloth_width_mm=5)),
        "cloth_width_mm: is too narrow: a strip across it is too short to be joined",
    ),
    (
        lambda: bias.plan_bias(replace(BIND, edge_mm=1e6, finished_width_mm=200)),
        "edge_mm: needs more than 100 m of this cloth",
    ),
    (
        lambda: bias.plan_bias(replace(BIND, keep_clear_at_mm=(1.0,) * 21)),
        "keep_clear_at_mm: names more than 20 places",
    ),
    (lambda: bundles.spread_sizes(-1, 3), "standing_threads: must be at least 0, not -1"),
    (lambda: bundles.spread_sizes(3, 0), "bundles: must be at least 1, not 0"),
    (lambda: bundles.clusters(-1, 3), "bundles: must be at least 0, not -1"),
    (lambda: bundles.clusters(3, 0), "bundles_each: must be at least 1, not 0"),
    (lambda: counts.width_of(-1, 20), "threads: must be at least 0, not -1"),
    (lambda: counts.width_of(1, 0), "threads_per_cm: must be above zero, not 0 per cm"),
    (lambda: counts.threads_in(-1, 20), "width_mm: must be at least 0 mm, not -1 mm"),
    (lambda: counts.threads_in(1e8, 20), "width_mm: comes to 200000000 threads; at most 1000000 can be reckoned"),
    (lambda: counts.convert(to_threads_per_cm=20), "threads: give the threads or the width, one of the two"),
    (
        lambda: counts.convert(threads=5, width_mm=5, to_threads_per_cm=20),
        "threads: give the threads or the width, one of the two",
    ),
    (
        lambda: counts.convert(threads=5, to_threads_per_cm=20),
        "from_threads_per_cm: is needed to know how wide those threads are",
    ),
    (
        lambda: counts.convert(threads=5, from_threads_per_cm=0, to_threads_per_cm=20),
        "from_threads_per_cm: must be above zero, not 0 per cm",
    ),
    (
        lambda: counts.convert(threads=5, from_threads_per_cm=20, to_threads_per_cm=0),
        "to_threads_per_cm: must be above zero, not 0 per cm",
    ),
    (
        lambda: counts.convert(threads=0, from_threads_per_cm=20, to_threads_per_cm=20),
        "threads: must be at least 1, not 0",
    ),
    (lambda: counts.convert(width_mm=0, to_threads_per_cm=20), "width_mm: must be above zero, not 0 mm"),
    (lambda: counts.distance_asked(0), "threads_per_cm: must be above zero, not 0 per cm"),
    (lambda: counts.count_of([]), "readings: give at least one place"),
    (lambda: counts.count_of([counts.Reading(100, 50)] * 100_001), "readings: give at most 1000 places"),
    (lambda: counts.count_of([counts.Reading(100_000, 5)]), "readings.0.threads: must be at most 1000, not 200000"),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, sex="child")),
        "sex: must be girl or boy, not 'child': the tables are kept apart",
    ),
    (lambda: fit.fit_on_the_day(replace(CHILD, born=5)), "born: must be a day"),
    (lambda: fit.fit_on_the_day(replace(CHILD, on=5)), "on: must be a day"),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, on=date(2025, 12, 31))),
        "on: must not come before the child is born",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, on=date(2028, 1, 2))),
        "on: is 731 days after birth; the tables end at 730, so measure the child instead",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, gestation_weeks=31)),
        "gestation_weeks: a baby born before 32 weeks is not reckoned from a table: measure near the day",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, gestation_weeks=34, on=date(2026, 1, 5))),
        "on: comes before the day this baby was due: the tables do not reach it, so measure near the day",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, born_is_due=True)),
        "gestation_weeks: is not known before the birth: leave it out",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, born_is_due=True, gestation_weeks=None)),
        "measured: a baby not born yet has not been measured: leave the readings out",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, measured=(fit.Measured(odd("foot"), 60, date(2026, 4, 2)),))),
        "measured.0.what: must be length, head or weight, not 'foot'",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, measured=(fit.Measured("length", 620, date(2025, 4, 2)),))),
        "measured.0.on: must lie between the birth and the day",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, measured=(fit.Measured("length", 620, odd(5)),))),
        "measured.0.on: must be a day",
    ),
    (
        lambda: fit.fit_on_the_day(replace(CHILD, measured=(fit.Measured("length", 900, date(2026, 4, 2)),))),
        "measured.0.value: cannot be reckoned with: please take this reading again, and check its unit and its day",
    ),
    (lambda: fit.size_class(0), "length_mm: must be above zero, not 0 mm"),
    (lambda: gates.refusal_to_take_back([], 0, 1, "counter"), "index: must be one of the 0 steps, not 0"),
    (lambda: gates.refusal_to_take_back([], 0, 1, odd("other")), "kind: must be counter or unpick, not 'other'"),
    (lambda: gates.held_by([], 0, 0), "counted: must be above zero, not 0"),
    (lambda: gates.refusal([], 0, 1), "index: must be one of the 0 steps, not 0"),
    (
        lambda: growth.plan_growth_tucks(replace(GROWS, deepest_mm=0.1)),
        "deepest_mm: is less than one thread at 20 threads per cm",
    ),
    (
        lambda: growth.plan_growth_tucks(replace(GROWS, let_down_mm=50_000, deepest_mm=1)),
        "deepest_mm: would need 25000 tucks: make them deeper",
    ),
    (
        lambda: growth.plan_growth_tucks(replace(GROWS, above_hem_mm=1)),
        "above_hem_mm: must be at least a tuck's depth (8.5 mm)",
    ),
    (
        lambda: growth.plan_growth_tucks(replace(GROWS, spacing_mm=1)),
        "spacing_mm: must be at least twice a tuck's depth (8.5 mm)",
    ),
    (lambda: layout.plan_cloth(replace(LAID, blocks=())), "blocks: give at least one block"),
    (
        lambda: layout.plan_cloth(replace(LAID, blocks=LAID.blocks * 10_000)),
        "blocks: at most 500 blocks can be laid at once, not 10000: lay them in parts",
    ),
    (
        lambda: layout.plan_cloth(replace(LAID, blocks=(blocks.Block("front", 1400, 700),))),
        "blocks.0.width_mm: 'front' is 1443.3 mm wide as cut, but only 1390.0 mm of the cloth can be used: choose a wider cloth, or make the block of two with a seam",
    ),
    (
        lambda: layout.plan_cloth(replace(LAID, selvedge_mm=700)),
        "selvedge_mm: two selvedges of 700 mm leave nothing of 1400 mm of cloth",
    ),
    (lambda: lengths.count_in(20, odd("mm")), "unit: must be cm or in, not 'mm'"),
    (lambda: lengths.count_in(nan, "cm"), "threads_per_cm: must be a number"),
    (lambda: marking.lines_to_mark(marking.PanelToMark(0, 20, ())), "warp_per_cm: must be above zero, not 0 per cm"),
    (lambda: marking.lines_to_mark(marking.PanelToMark(20, nan, ())), "weft_per_cm: must be a number"),
    (lambda: operations.operation_named("knit"), "operation: there is no operation called 'knit'"),
    (lambda: recount.requantified("clip", quantity=-1, done=0, planned=1), "quantity: must be at least 0, not -1"),
    (lambda: recount.requantified("clip", quantity=1, done=-1, planned=1), "done: must be at least 0, not -1"),
    (lambda: recount.requantified("clip", quantity=1, done=0, planned=-1), "planned: must be at least 0, not -1"),
    (lambda: shrink.cut_mm(0, 5), "finished_mm: must be above zero, not 0 mm"),
    (lambda: shrink.cut_mm(100, 51), "shrink_percent: must be at most 50, not 51"),
    (lambda: shrink.dimensional_change_percent(0, 5), "before_mm: must be above zero, not 0 mm"),
    (lambda: shrink.dimensional_change_percent(5, 0), "after_mm: must be above zero, not 0 mm"),
    (
        lambda: shrink.shrink_test(replace(SWATCH, warp_before_mm=(), warp_after_mm=())),
        "warp_before_mm: give at least one length",
    ),
    (
        lambda: shrink.shrink_test(replace(SWATCH, weft_after_mm=(1.0, 2.0))),
        "weft_after_mm: must be as many lengths as before washing: 1, not 2",
    ),
    (
        lambda: shrink.shrink_test(replace(SWATCH, weft_after_mm=(100.0,))),
        "weft_after_mm: a change of -60 % cannot be right for cloth: measure again",
    ),
    (
        lambda: shrink.counts_after(designs.ClothCounts(20, 19), 51, 0),
        "warp_change_percent: must be at most 50, not 51",
    ),
    (
        lambda: shrink.counts_after(designs.ClothCounts(20, 19), 0, -51),
        "weft_change_percent: must be at least -50, not -51",
    ),
    (lambda: steer.steer(replace(STEERED, sizes=())), "sizes: name at least one bundle"),
    (lambda: steer.steer(replace(STEERED, way=odd("later"))), "way: must be one of at once, spread"),
    (lambda: steer.steer(replace(STEERED, reached=4)), "reached: must be at most 3, not 4"),
    (lambda: steer.steer(replace(STEERED, threads_left=0)), "threads_left: must be at least 1, not 0"),
    (lambda: steer.steer(replace(STEERED, since=3)), "since: must be at most 2, not 3"),
    (
        lambda: steps.section_steps("knit", steps.PlainWork()),
        "kind: must be one of hem_band, ladder, ladder_paired, serpentine, alternating, tuck_band, tuck, binding, seam, lace, motif, closure, not 'knit'",
    ),
    (
        lambda: stopping.stopped(stopping.BandInHand("ladder", (4, 4)), "knit", 1),
        "operation: is no work that a ladder is counted in: 'knit'",
    ),
    (
        lambda: stopping.BandInHand(odd("hem"), (4, 4)),
        "kind: must be one of hem_band, ladder, ladder_paired, serpentine, alternating, tuck_band, not 'hem'",
    ),
    (lambda: stopping.BandInHand("ladder", (4, 0)), "sizes: must be at least 1, not 0"),
    (
        lambda: stopping.BandInHand("ladder", (4, 4), work_direction=odd("down")),
        "work_direction: must be one of left to right, right to left, not 'down'",
    ),
    (lambda: thread.plan_thread(thread.ThreadAsk((), 8000)), "operations: give at least one"),
    (
        lambda: thread.plan_thread(thread.ThreadAsk((thread.Worked("seam", 1),) * 1001, 8000)),
        "operations: give at most 1000",
    ),
    (
        lambda: thread.plan_thread(thread.ThreadAsk((thread.Worked("seam", 1), thread.Worked("knit", 1)), 8000)),
        "operations.1.operation: there is no operation called 'knit'",
    ),
    (lambda: thread.used_ratio(0, 1), "reckoned_mm: must be above zero, not 0 mm"),
    (lambda: thread.used_ratio(1, 0), "used_mm: must be above zero, not 0 mm"),
    (lambda: thread.used_ratio(10, 0.5), "used_mm: is 0.05 times what was reckoned: check the unit"),
    (
        lambda: tube.plan_tube(tube.TubeAsk(0.1, 100, 0, 10_000)),
        "cut_width_mm: gives 70710 laps, more than 10000: ask for less at a time",
    ),
    (lambda: tube.plan_tube(tube.TubeAsk(5000, 1e6)), "length_mm: needs a square of more than 10 m a side"),
    (lambda: tucks.tucks_across(0, 0, 5), "finished_width_mm: must be above zero, not 0 mm"),
    (lambda: tucks.tucks_across(100, 0, 0), "spacing_mm: must be above zero, not 0 mm"),
    (lambda: tucks.tucks_across(100, -1, 5), "edge_mm: must be at least 0 mm, not -1 mm"),
    (lambda: tucks.tucks_across(100, 50, 5), "edge_mm: must be under half the finished width (100 mm)"),
    (lambda: tucks.tucks_across(100_000, 0, 0.01), "spacing_mm: gives more than 500 tucks across 100000 mm"),
    (
        lambda: tucks.plan_tucks(replace(TUCKED, depth_mm=11, band_width_mm=0)),
        "depth_mm: must be at most half the spacing (20 mm), not 11",
    ),
    (
        lambda: tucks.plan_tucks(replace(TUCKED, spacing_mm=90)),
        "spacing_mm: puts the outer tucks past the finished width (300 mm)",
    ),
    (
        lambda: tucks.plan_tucks(replace(TUCKED, depth_mm=0.01, band_width_mm=0)),
        "depth_mm: is less than one thread at 20 threads per cm",
    ),
    (
        lambda: yarn.tex_of("lea", 5),
        "system: must be one of tex, denier, Nm, Ne, NeL, Nw, metric ticket, cotton ticket, not 'lea'",
    ),
    (lambda: yarn.tex_of("tex", 0), "number: must be above zero, not 0"),
    (lambda: yarn.tex_of("tex", 5, 0), "plies: must be at least 1, not 0"),
    (lambda: yarn.tex_of("tex", 5, 1001), "plies: must be at most 1000, not 1001"),
    (lambda: yarn.number_of("tex", 0), "tex: must be above zero, not 0"),
    (
        lambda: yarn.number_of("lea", 5),
        "system: must be one of tex, denier, Nm, Ne, NeL, Nw, metric ticket, cotton ticket, not 'lea'",
    ),
    (lambda: yarn.tex_of_put_up(0, 1), "mass_g: must be above zero, not 0"),
    (lambda: yarn.tex_of_put_up(1, 0), "length_m: must be above zero, not 0 m"),
    (lambda: yarn.cover_si(0, 1), "per_cm: must be above zero, not 0 per cm"),
    (lambda: yarn.cover_si(20, 0), "tex: must be above zero, not 0"),
    (lambda: yarn.cover_peirce(0, 1), "per_cm: must be above zero, not 0 per cm"),
    (lambda: yarn.average_tex(0, 20, 100), "warp_per_cm: must be above zero, not 0 per cm"),
    (lambda: yarn.average_tex(20, 0, 100), "weft_per_cm: must be above zero, not 0 per cm"),
    (lambda: yarn.average_tex(20, 20, 0), "g_per_m2: must be above zero, not 0"),
    (lambda: yarn.burning_findings(0), "g_per_m2: must be above zero, not 0"),
    (lambda: yarn.square_findings(0, 20), "warp_per_cm: must be above zero, not 0 per cm"),
    (lambda: yarn.square_findings(20, 0), "weft_per_cm: must be above zero, not 0 per cm"),
]


@pytest.mark.parametrize(
    ("reckon", "refusal"),
    REFUSALS,
    ids=[f"{at} {refusal.partition(':')[0]}" for at, (_, refusal) in enumerate(REFUSALS)],
)
def test_a_refusal_names_its_field_and_says_what_is_wrong(reckon: Callable[[], object], refusal: str) -> None:
    assert told(reckon) == refusal
