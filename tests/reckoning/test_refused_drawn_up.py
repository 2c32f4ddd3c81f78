"""What cannot be drawn up, worked or priced is refused in a sentence for the person, at its field."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from service.reckoning import (
    bands,
    dates,
    designs,
    guess_text,
    hours,
    mirrors,
    outlines,
    path_text,
    plans,
    price,
    rates,
    section_work,
    steps,
    track_record,
    what_if,
)
from service.reckoning.design_text import read_design
from tests.reckoning.good_questions import GOOD, odd, told

DESIGNS = Path(__file__).parents[2] / "seed_data" / "designs"
SHIRT = mirrors.drawn_up(read_design((DESIGNS / "boys_shirt.toml").read_text(encoding="utf-8")))
BAND = designs.SectionDesign("a", "A", "ladder", direction="across", withdraw_threads=8)
LADDER = GOOD["band by threads"][1]
WEEK = GOOD["dates"][1]
REFUSALS: list[tuple[Callable[[], object], str]] = [
    (
        lambda: hours.check_line(hours.Line("knit", 1), "work.0", rates.Prior()),
        "work.0.operation: there is no operation called 'knit'",
    ),
    (
        lambda: hours.check_line(hours.Line("clip", -1, 20), "work.0", rates.Prior()),
        "work.0.quantity: must be at least 0, not -1",
    ),
    (
        lambda: hours.check_line(hours.Line("clip", 1e9, 20), "work.0", rates.Prior()),
        "work.0.quantity: must be at most 1e+06, not 1e+09",
    ),
    (
        lambda: hours.check_line(hours.Line("clip", 1), "work.0", rates.Prior()),
        "work.0.threads_per_cm: is needed: a finer cloth takes longer",
    ),
    (
        lambda: hours.check_line(hours.Line("clip", 1, 0), "work.0", rates.Prior()),
        "work.0.threads_per_cm: must be above zero, not 0 per cm",
    ),
    (
        lambda: hours.check_line(hours.Line("clip", 1, 1e6), "work.0", rates.Prior()),
        "work.0.threads_per_cm: must be at most 400 per cm, not 1e+06 per cm",
    ),
    (
        lambda: hours.check_line(hours.Line("withdraw", 1, 20, 0), "work.0", rates.Prior()),
        "work.0.thread_length_mm: must be above zero, not 0 mm",
    ),
    (
        lambda: hours.check_line(hours.Line("withdraw", 1, 20, 1e9), "work.0", rates.Prior()),
        "work.0.thread_length_mm: must be at most 100000 mm, not 1e+09 mm",
    ),
    (lambda: guess_text.read_guesses("clip ="), "guesses: cannot be read: Invalid value (at end of document)"),
    (lambda: guess_text.read_guesses("[knit]\nseconds = 1"), "knit: is no operation"),
    (lambda: guess_text.read_guesses(""), "cut_block: has no guess"),
    (lambda: plans.SectionChoice(depth=odd("keep")), "depth: must be one of keep_width, keep_threads, not 'keep'"),
    (lambda: plans.SectionChoice(bundle=odd("keep")), "bundle: must be one of keep_threads, keep_width, not 'keep'"),
    (
        lambda: plans.SectionChoice(left_over=odd("cut")),
        "left_over: must be one of shorter, longer, spread, into_seam, not 'cut'",
    ),
    (
        lambda: mirrors.drawn_up(
            replace(SHIRT, panels=(designs.PanelDesign("side", "Side", "back", mirror_of="none"),), sections=())
        ),
        "mirror_of: there is no panel called 'none' that could be mirrored",
    ),
    (lambda: price.quoted_chance(0, 5), "missed_hour: must be at least 1, not 0"),
    (lambda: price.quoted_chance(5, -1), "lost_hour: must be at least 0, not -1"),
    (lambda: price.suggested_deposit(-1, 5), "price: must be at least 0, not -1"),
    (lambda: price.suggested_deposit(5, -1), "materials: must be at least 0, not -1"),
    (lambda: what_if.fewest_late([what_if.Due("bib", -1, 3)]), "work.0.hours: must be at least 0, not -1"),
    (
        lambda: outlines.outline_points(
            designs.PanelDesign("front", "Front", "front", "body", 300, 400, "0,0 9,9 9,0 0,9")
        ),
        "outline: must go round a piece of cloth without crossing itself",
    ),
    (
        lambda: outlines.outline_points(
            designs.PanelDesign("front", "Front", "front", "body", 300, 400, "0,0 310,0 310,9")
        ),
        "outline: must stay on the block of 300 × 400 mm",
    ),
    (
        lambda: outlines.outline_points(
            designs.PanelDesign("front", "Front", "front", "body", 300, 400, "0,0 9,0 9,9", on_fold=True)
        ),
        "outline: must begin and end on the fold, at x = 150",
    ),
    (lambda: path_text.line_of(""), "outline: needs at least one point"),
    (lambda: path_text.line_of("0,0 1"), "outline: must have an x and a y for every point"),
    (lambda: path_text.line_of("0,0 1,x"), "outline: must have an x and a y for every point"),
    (lambda: path_text.line_of("0,0 1,99999999"), "outline: has a point further out than 100000 mm"),
    (lambda: path_text.line_of("M 0,0 L 1"), "outline: L takes 2 numbers, not 1"),
    (lambda: path_text.line_of("L 0,0"), "outline: must begin with M and be one unbroken line"),
    (lambda: path_text.line_of("M 0,0 A 1,1"), "outline: 'A' is not read in a path: use M L H V C Q Z"),
    (lambda: path_text.line_of("M 0,0 Z L 1,1"), "outline: must end at Z"),
    (lambda: path_text.line_of("0,0 " * 60_000), "outline: is longer than 20000 letters"),
    (lambda: path_text.line_of("0,0 " * 5_001, "along"), "along: is longer than 20000 letters"),
    (
        lambda: section_work.replan_section(
            designs.SectionDesign("a", "A", "tuck"), designs.ClothCounts(20, 19), standing_threads=9
        ),
        "kind: only the threads of a band can be recounted, not of a tuck",
    ),
    (
        lambda: section_work.replan_section(BAND, designs.ClothCounts(20, 19), standing_threads=0),
        "standing_threads: must be at least 1, not 0",
    ),
    (
        lambda: section_work.replan_section(BAND, designs.ClothCounts(20, 19), standing_threads=9, withdraw_threads=0),
        "withdraw_threads: must be at least 1, not 0",
    ),
    (lambda: steps.section_steps("ladder", steps.PlainWork()), "work: a ladder needs the plan of its band"),
    (
        lambda: steps.section_steps("ladder", bands.plan_band(LADDER), at_cutting_line=2),
        "at_cutting_line: this band has 1 open ends, not 2",
    ),
    (
        lambda: steps.section_steps("ladder", bands.plan_band(LADDER), at_cutting_line=3),
        "at_cutting_line: must be at most 2, not 3",
    ),
    (
        lambda: steps.section_steps("ladder", bands.plan_band(LADDER), clip_inside_threads=101),
        "clip_inside_threads: must be at most 100, not 101",
    ),
    (
        lambda: steps.section_steps("hem_band", bands.plan_band(LADDER)),
        "kind: 'hem_band' is not the kind this band was planned as, 'ladder'",
    ),
    (
        lambda: steps.section_steps("binding", steps.PlainWork(length_mm=-1)),
        "length_mm: must be at least 0 mm, not -1 mm",
    ),
    (lambda: steps.section_steps("motif", steps.PlainWork(number=-1)), "number: must be at least 0, not -1"),
    (lambda: steps.section_steps("binding", steps.PlainWork(joins=-1)), "joins: must be at least 0, not -1"),
    (lambda: track_record.widened(odd([1.0]), 0), "factor: must be above zero, not 0"),
    (lambda: designs.SectionDesign("A b", "A", "tuck"), "key: must be small letters, digits and underlines, not 'A b'"),
    (lambda: designs.SectionDesign("a", "", "tuck"), "name: must not be empty"),
    (
        lambda: designs.SectionDesign("a", "A", odd("fold")),
        "kind: must be one of hem_band, ladder, ladder_paired, serpentine, alternating, tuck_band, tuck, binding, seam, lace, motif, closure, not 'fold'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", owner=odd("client")),
        "owner: must be one of panel, garment, not 'client'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", direction=odd("up")),
        "direction: must be one of across, down, not 'up'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", side_worked=odd("left")),
        "side_worked: must be one of right, wrong, not 'left'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", work_direction=odd("up")),
        "work_direction: must be one of left to right, right to left, not 'up'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", loop_direction=odd("left")),
        "loop_direction: must be one of clockwise, anticlockwise, not 'left'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", left_over=odd("cut")),
        "left_over: must be one of shorter, longer, spread, into_seam, not 'cut'",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", explained=(("left_over", ""),)),
        "explained.left_over: must not be empty",
    ),
    (
        lambda: designs.SectionDesign("a", "A", "tuck", explained=(("Left", "so"),)),
        "explained: must be small letters, digits and underlines, not 'Left'",
    ),
    (lambda: designs.Placement("front", odd("middle")), "edge: must be one of top, bottom, left, right, not 'middle'"),
    (
        lambda: designs.Placement("front", "top", from_mm=9, to_mm=9),
        "to_mm: must lie beyond from_mm, 9 mm, not at 9 mm",
    ),
    (
        lambda: designs.PanelDesign("front", "Front", odd("side"), "body", 300, 400),
        "side: must be one of front, back, both, not 'side'",
    ),
    (lambda: designs.PanelDesign("front", "", "front", "body", 300, 400), "name: must not be empty"),
    (lambda: dates.reckon_dates(replace(WEEK, start=date(9998, 1, 1))), "start: must not lie beyond the year 9900"),
]


@pytest.mark.parametrize(
    ("reckon", "refusal"),
    REFUSALS,
    ids=[f"{at} {refusal.partition(':')[0]}" for at, (_, refusal) in enumerate(REFUSALS)],
)
def test_a_refusal_names_its_field_and_says_what_is_wrong_with_it(reckon: Callable[[], object], refusal: str) -> None:
    assert told(reckon) == refusal
