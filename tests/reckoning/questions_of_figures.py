"""Questions about figures, sums, hours, thread, yarn, fit and cautions, for the answers kept in full."""

from dataclasses import replace
from datetime import date

import numpy as np

from service.reckoning import (
    band_kinds,
    bands,
    capacity,
    cautions,
    counts,
    dates,
    fit,
    fit_garment,
    fit_words,
    guesses,
    hours,
    in_hand,
    lengths,
    money,
    operations,
    pay,
    price,
    promise,
    recount,
    shrink,
    spaces,
    steps,
    tension,
    thread,
    thread_rates,
    track_record,
    what_if,
    yarn,
)
from service.reckoning.capacity import Stitcher
from service.reckoning.designs import ClothCounts
from service.reckoning.paces import Range
from tests.reckoning.good_questions import GOOD, MAY
from tests.reckoning.in_full import Questions, each

FITTED = fit.fit_on_the_day(GOOD["fit"][1])


def of_sums() -> Questions:
    return {
        **each("digits", money.minor_digits, ("EUR",), ("JPY",), ("KWD",), ("euro",)),
        **each("written", money.written, (-8605, 2), (5, 3), (0, 2), (100, 0)),
        **each("up to a step", money.up_to_step, (72402, 500), (72500, 500), (1, 7)),
        **each("percent", money.percent_of, ("p", 12.5, 100), ("p", 0.0, 99), ("p", 101.0, 99)),
        **each("deposit", price.suggested_deposit, (8605, 1200), (100, 900)),
        **each("chance", price.quoted_chance, (4000, 1000), (3650, 1825)),
        **each("instalments", price.instalments, (1001, (50.0, 25.0, 25.0)), (1001, (50.0, 25.0))),
        **each("owed", pay.owed, ((pay.AtOnePay(None, 1850, 5400), pay.AtOnePay(MAY, 1600, 3600)), 4000)),
        **each("pay from", pay.pay_from, (MAY, 1800, (pay.Before(date(2026, 4, 1), 1600),))),
        **each("late", what_if.fewest_late, ((what_if.Due("bib", 2.0, 3.0), what_if.Due("gown", 30.0, 20.0)),)),
        **each(
            "left out",
            promise.ways_to_leave_out,
            ((promise.Openwork(("a",), "A", 25.0, 60.0), promise.Openwork(("b",), "B", 10.0, 90.0)),),
        ),
    }


def of_hours() -> Questions:
    return {
        **each(
            "seconds",
            guesses.seconds_for,
            ("withdraw", 18.0, 24.0, 500.0),
            ("hem_knot", 10.0, 30.0),
            ("wash", 2.0),
        ),
        **each("felt", guesses.count_felt, ("clip", 20.0, 19.0), ("ladder_knot", 20.0, 19.0), ("wash", 20.0, 19.0)),
        **each("amount", operations.amount, ("edge_stitch", 0.9144), ("clip", 3), ("knit", 3)),
        **each("needleful", in_hand.units_in_needleful, *((name, 4.0) for name in operations.OPERATIONS)),
        **each(
            "thread of a unit",
            lambda name, mm: thread_rates.THREAD_RATES[name].per_unit_mm(mm),
            *((name, 4.0) for name in thread_rates.THREAD_RATES),
        ),
        **each("fitted", in_hand.fitted, ((66.0, 66.0), 134.0), ((66.0, 66.0), 60.0), ((), 12.5)),
        **each("in hand", in_hand.pass_in_hand, ((66, 66), 70), ((66, 66), 132), ((5.0,), 2.0)),
        **each("counted to", in_hand.counted_to, ((66, 66), 70.0, 20.0), ((66, 66), 70.0, 3.0)),
        **each(
            "requantified",
            lambda name, *at: recount.requantified(name, quantity=at[0], done=at[1], planned=at[2]),
            ("ladder_knot", 198.0, 120.0, 194.0),
            ("clip", 18.0, 18.0, 17.0),
            ("mark", 40.5, 40.5, 40.9),
        ),
        "two hands on a gown": (
            dates.reckon_dates,
            dates.DatesAsk(
                MAY,
                (Stitcher("Ada", (4.0,) * 7), Stitcher("Bea", (2.0,) * 5 + (0.0, 0.0))),
                (
                    dates.Job("a", "gown", "Ada", 12.0, date(2027, 5, 9)),
                    dates.Job("b", "gown", "Bea", Range(20.0, 30.0, 44.0), date(2027, 5, 20)),
                    dates.Job("c", "bib", "Bea", 0.0, None, ("a",)),
                ),
            ),
        ),
        "shares": (
            lambda asked: tuple(map(float, hours.share_near(np.array([[1.0, 2.0, 4.0], [2, 2, 1]]), asked[0]))),
            (0.4,),
        ),
        "kappa": (track_record.kappa, (1.2, -0.4, 2.5, 1.9, -5.0)),
        "record": (track_record.record, (track_record.Finished(20, 10, 5, 20), track_record.Finished(9, 10, 5, 20))),
        "availability": (capacity.availability_of, (capacity.Week(10.0, 8.0), capacity.Week(12.0, 0.5))),
        **each(
            "steps",
            steps.section_steps,
            *((kind, steps.PlainWork(304.2, None, 2, 3)) for kind in steps.PLAIN_KINDS),
        ),
        **each(
            "steps of a band",
            lambda kind, inside: steps.section_steps(
                kind,
                bands.plan_band(replace(GOOD["band by threads"][1], kind=kind, stop_lines=1)),
                at_cutting_line=1,
                folded_first=inside == 1,
                clip_inside_threads=inside,
            ),
            *((kind, n) for n, kind in enumerate(band_kinds.BAND_KINDS)),
        ),
    }


def of_thread_and_yarn() -> Questions:
    everything = tuple(thread.Worked(name, 12.0) for name in operations.OPERATIONS)
    linen, cotton = yarn.Threads(20.0, 25.0, 4.0), yarn.Threads(31.0, 10.0, 6.0)
    return {
        "thread for all": (thread.plan_thread, thread.ThreadAsk(everything, 8000.0)),
        "thread of long rows": (
            thread.plan_thread,
            thread.ThreadAsk((thread.Worked("pair_knot", 300.0, 25.0),), 5000.0),
        ),
        **each("used", thread.used_ratio, (6000.0, 7500.0), (6000.0, 75.0), (6000.0, 75000.0)),
        **each("ratio", thread_rates.thread_ratio, (3.0, 0.2, 0.6)),
        **each(
            "tex",
            yarn.tex_of,
            ("metric", 50.0, 2),
            ("cotton", 60.0, 3),
            ("linen", 40.0),
            ("tex", 25.0),
            ("x", 1.0),
        ),
        **each("number", yarn.number_of, ("metric", 40.0), ("cotton", 29.5), ("linen", 41.3), ("tex", 25.0)),
        **each("put-up", yarn.tex_of_put_up, (10.0, 45.0)),
        "cover": (lambda asked: yarn.cover_of(*asked), (linen, cotton)),
        "weight": (lambda asked: yarn.weight_g_per_m2(*asked), (linen, cotton)),
        **each("average", yarn.average_tex, (20.0, 18.0, 120.0)),
        **each("burns", yarn.burning_findings, (88.1,), (88.2,), (80.0, "silk"), (80.0, "wool"), (80.0, "linen")),
        **each("square", yarn.square_findings, (20.0, 20.4), (20.0, 22.0), (18.0, 25.0)),
        **each(
            "tension",
            tension.tension_finding,
            (tension.Sample(25.0, 25.0), tension.Sample(26.0, 27.0)),
            (tension.Sample(25.0, 25.0), tension.Sample(22.0, 23.0)),
        ),
        "before and after": (
            lambda asked: shrink.recount_findings(*asked),
            (ClothCounts(20.0, 19.0), ClothCounts(21.0, 19.1)),
        ),
        **each("after the wash", shrink.counts_after, (ClothCounts(20.0, 19.0), -4.0, -2.5)),
        **each("cut", shrink.cut_mm, (300.0, 6.0)),
        **each("change", shrink.dimensional_change_percent, (250.0, 244.0)),
        **each("per cm", lengths.per_cm_from, (38.0, "in"), (20.0, "cm"), (20.0, "ell")),
        "carried by threads": (
            lambda asked: counts.convert(threads=asked[0], from_threads_per_cm=asked[1], to_threads_per_cm=asked[2]),
            (18, 20.0, 30.0),
        ),
        **{
            f"counted {at}": (counts.findings_of, tuple(counts.Reading(*one) for one in places))
            for at, places in enumerate(
                (((100, 50.0), (102, 50.0), (119, 50.0)), ((20, 10.0),), ((40, 20.0),) * 5, ((9, 10.0),) * 4),
            )
        },
    }


def of_warned() -> Questions:
    worn = [
        cautions.Worn(wearer, cautions.parts_named(words), length, weight)
        for wearer in ("under three", "older child", "adult")
        for words, length, weight in (
            ((), None, None),
            (("Bonnet with lace ties, a button, beads and hooks",), 900.0, 60.0),
        )
    ]
    between = (
        spaces.Covered("hem", "across", "bottom", 40, 43),
        spaces.Covered("band", "across", "bottom", 55, 64, (0.0, 50.0)),
    )
    return {
        **{f"cautions {place}": (cautions.cautions_for, one) for place, one in enumerate(worn)},
        **{f"care {place}": (cautions.care_for, one) for place, one in enumerate(worn)},
        **each("parts", cautions.parts_named, (("shell buttons",),), (("zip and cord",),), (("capital pearl",),)),
        **each("worn by", cautions.wearer_on, (None, MAY), (date(2012, 5, 4), MAY), (date(2024, 5, 3), MAY)),
        "spaces": (spaces.spaces_between, between),
    }


def of_fit() -> Questions:
    ask = GOOD["fit"][1]
    head = fit.Measured("head", 410.0, date(2026, 3, 1))
    weight = fit.Measured("weight", 6400.0, date(2026, 5, 1))
    boy = replace(ask, sex="boy", gestation_weeks=None, measured=(*ask.measured, head, weight))
    return {
        "fit of a boy": (fit.fit_on_the_day, boy),
        "fit of two readings": (
            fit.fit_on_the_day,
            replace(boy, measured=(*boy.measured, replace(boy.measured[0], value=640.0, on=date(2026, 5, 9)))),
        ),
        "fit of an early child": (fit.fit_on_the_day, replace(ask, gestation_weeks=31.0)),
        "fit before birth": (fit.fit_on_the_day, replace(ask, measured=(), born_is_due=True, gestation_weeks=None)),
        "fit on the last day": (fit.fit_on_the_day, replace(boy, on=date(2028, 1, 1))),
        **each("size class", fit.size_class, (560.0,), (561.0,), (1045.0,), (380.0,)),
        **each("class named", fit_garment.class_named, ("62/68",), ("three months",), ("50 to 104",), ("56, not 57",)),
        **{
            f"made for {length} and {head}": (
                lambda made: fit_garment.garment_findings(FITTED, made),
                fit_garment.MadeFor(length, head),
            )
            for length, head in ((62.0, 40.0), (68.0, 42.0), (70.5, 44.5), (74.0, 46.0), (92.0, 52.0))
        },
        **{
            f"words {place}": (fit_words.fit_findings, reading)
            for place, reading in enumerate(
                (
                    fit_words.Reading((634.9, 675.0), (611.0, 699.1), 0, frozenset({"head"}), born_is_due=False),
                    fit_words.Reading((634.9, 675.0), (610.0, 700.0), 33, frozenset({"length"}), born_is_due=True),
                ),
            )
        },
    }
