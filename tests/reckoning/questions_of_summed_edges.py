"""Questions on the very edge of a rule of sums and hours, for the answers kept in full."""

from dataclasses import replace
from typing import Any

import numpy as np

from service.reckoning import (
    capacity,
    cautions,
    counts,
    grading,
    guess_text,
    hindsight,
    hours,
    hours_left,
    money,
    operations,
    pay,
    price,
    quoting,
    section_work,
    sizes,
    steer,
    thread,
    tucks,
    yarn,
)
from service.reckoning.designs import ClothCounts, ClothDesign, SectionDesign
from service.reckoning.draws import draw
from service.reckoning.hours import Line, Stretch, share_near
from service.reckoning.rates import Prior
from service.reckoning.rates_fit import fit
from tests.reckoning.good_questions import GOOD, MAY
from tests.reckoning.in_full import Questions, each


def of_summed_edges() -> Questions:
    """Those of sums and hours."""
    return {**_sums(), **_hours(), **_limits()}


def _sums() -> Questions:
    ask = GOOD["price"][1]
    change = GOOD["alteration"][1]
    return {
        **each(
            "half up", lambda *at: money.half_up(money.exactly("n", at[0])), (2.5,), (-2.5,), (2.4999,), (0,), (-0.4,)
        ),
        **each("exactly", money.exactly, ("n", 1.005), ("n", 3), ("n", float("inf"))),
        **each("currency", money.minor_digits, ("CLF",), ("eur",), ("EURO",), ("E1R",), ("ÄÖÜ",)),
        **each("step", money.up_to_step, (0, 5), (5, 5), (6, 5), (-6, 5)),
        **each("per cent", money.percent_of, ("p", 100.0, 99), ("p", 100.1, 99), ("p", -0.1, 99), ("p", 50.0, -5)),
        **each(
            "shared",
            lambda amount, *weights: money.shared_out(amount, [money.exactly("w", one) for one in weights]),
            *((100, 1, 1, 1), (101, 1, 2, 1), (0, 1, 1), (5, 0, 1), (5, 0, 0), (5, 1, -1), (-7, 1, 1), (7, 1, 3, 3)),
        ),
        **each(
            "priced",
            price.reckon_price,
            *((replace(ask, hours_quoted=hours),) for hours in (40, 39.99, 40.01)),
            (replace(ask, price_step=500, margin_percent=0, instalments_percent=()),),
            (replace(ask, instalments_percent=(50.0, 49.9)),),
            (replace(ask, instalments_percent=(100.0, 0.0)),),
            (replace(ask, instalments_percent=(1.0,) * 61),),
            (replace(ask, hour_rate=3, hours_p50=0.5, hours_quoted=1.0, overhead_per_hour=5, materials=1),),
        ),
        **each(
            "altered",
            price.reckon_alteration,
            *((replace(change, hours_after=hours),) for hours in (40, 0, 39.9, 80)),
            (replace(change, hours_after=0, fee=0, unworked=0),),
            (replace(change, hours_after=0, fee=0, unworked=10**6),),
            (replace(change, materials_change=-(10**12)),),
            (replace(change, materials_change=-(10**12) - 1),),
        ),
        **each("deposit of", price.suggested_deposit, (1000, 400), (1000, 401), (1000, 1001), (0, 0), (-1, 0), (1, -1)),
        **each("chance of", price.quoted_chance, (1, 1), (9, 1), (10, 1), (1, 2), (0, 1), (1, -1), (1, 0)),
        **each(
            "owed to her",
            pay.owed,
            ((pay.AtOnePay(None, -1, 60),), 0),
            ((pay.AtOnePay(None, 0, 60), pay.AtOnePay(None, None, 60)), 0),
            ((pay.AtOnePay(None, 1000, 1800), pay.AtOnePay(None, 1001, 1800)), 1),
            ((), 0),
            ((), -1),
        ),
        **each(
            "pay on the day",
            pay.pay_on,
            *((day, 1800, (pay.Before(MAY, 1600), pay.Before(MAY.replace(day=9), 1700))) for day in _days()),
        ),
        **each(
            "pay counts from",
            pay.pay_from,
            *((day, 1800, (pay.Before(MAY.replace(day=9), 1700), pay.Before(MAY, 1600))) for day in _days()),
            (MAY, None, ()),
            (MAY, None, (pay.Before(MAY.replace(day=9), 1700),)),
            (MAY, 1800, ()),
        ),
        **each(
            "thread",
            thread.plan_thread,
            (thread.ThreadAsk((thread.Worked("pair_knot", 100.0, 4.0),), 5000.0),),
            (thread.ThreadAsk((thread.Worked("pair_knot", 2.0, 4.0), thread.Worked("hem_knot", 0.0, 2.0)), 500.0),),
            (thread.ThreadAsk((thread.Worked("hem_knot", 37.0, 2.0),), 450.0, 450.0, 1.0),),
            (thread.ThreadAsk((thread.Worked("knit", 3.0),), 5000.0),),
            (thread.ThreadAsk((), 5000.0),),
            (thread.ThreadAsk((thread.Worked("clip", 3.0),) * 1001, 5000.0),),
        ),
        **each("thread used", thread.used_ratio, (1.0, 10.0), (1.0, 10.1), (1.0, 0.1), (1.0, 0.0999)),
    }


def _days() -> tuple[Any, ...]:
    return tuple(MAY.replace(day=day) for day in (1, 2, 3, 4, 8, 9, 10))


_GUESS = '[{}]\nunit = "{}"\nseconds = {}\nsource = "{}"\n'


def _guesses(at: int) -> object:
    """The guesses with one thing of the first operation wrong."""
    first = next(iter(operations.OPERATIONS))
    tables = []
    for name, operation in operations.OPERATIONS.items():
        fine = f'fineness = "{operation.fineness_of}"\n' if operation.fineness_of else ""
        shown = f"exposure = {operation.exposure}\n" if operation.exposure else ""
        here = at if name == first else 0
        unit = "ell" if here == 1 else operation.unit
        seconds = {2: '"many"', 3: "true", 4: "0", 5: "1e9"}.get(here, "3.5")
        source = "" if here == 6 else "made up"
        tables.append(_GUESS.format(name, unit, seconds, source) + fine + shown)
    found = guess_text.read_guesses("".join(tables))
    return sum(found.values()), len(found)


def _hours() -> Questions:
    told = draw(fit([]), ["P1"])
    left = [Stretch("1", (Line("hem_knot", 40.0, 20.0), Line("clip", 8.0, 20.0), Line("hem_knot", 4.0, 20.0)))]
    return {
        **each(
            "quoted at",
            lambda chance: quoting.hours_to_quote(told, {}, chance),
            *((chance,) for chance in (0.5, 0.49, 0.9, 0.91, 0.7)),
        ),
        **each(
            "shares near",
            lambda chance: tuple(
                map(float, share_near(np.array([[0.0, 0.0] + [1.0] * 38, [0.0, 0.0] + [3.0] * 38]), chance))
            ),
            *((chance,) for chance in (0.02, 0.04, 0.5, 0.0, 1.0)),
        ),
        **each(
            "with more",
            quoting.with_more,
            *((left, (Line("hem_knot", more),)) for more in (3.0, 0.0, -3.0, -42.0, -44.0, -44.1)),
            (left, (Line("press", 2.0), Line("clip", -1.0))),
            ([], (Line("press", 2.0),)),
            ([], (Line("press", -2.0),)),
        ),
        **each("looked back", hindsight.hindsight, ((), "P1")),
        **each("guesses", _guesses, *((at,) for at in range(7))),
        **each("begun", hindsight.begun_on, ((), "P1")),
    }


def _limits() -> Questions:
    """What is just as much as may be asked, and what is more."""
    line = Line("withdraw", 3.0, 20.0, 100.0)
    hem = SectionDesign("front.hem", "Hem", "hem_band", direction="across", withdraw_threads=6)
    return {
        **each(
            "tucks across so much",
            tucks.tucks_across,
            *((2e5, 20.0, 25.0), (300.0, 2e5, 25.0), (300.0, 20.0, 2e5), (1e5, 4e4, 1e5), (5000.0, 5.0, 10.0)),
            *((5000.0, 4.9, 10.0), (0.0, 0.0, 1.0), (300.0, -1.0, 9.0), (300.0, 150.0, 9.0), (300.0, 0.0, 0.0)),
        ),
        **each("body", sizes.body_of, (49,), (50,), (86,), (87,)),
        **each("sizes", sizes.size_range, *((word,) for word in _SIZES)),
        **each(
            "warned of light cloth",
            lambda weight: cautions.cautions_for(
                cautions.Worn("adult", cautions.parts_named(("Gown",)), 900.0, weight)
            ),
            *((weight,) for weight in (88.1, 88.2, None)),
        ),
        **each(
            "cloth called",
            ClothDesign,
            *((*said, ClothCounts(20.0, 19.0)) for said in (("gown", " "), ("Gown", "Linen"))),
        ),
        **each("nearest thread", tucks.nearest_thread, (5.25, 20.0), (-5.25, 20.0), (5.2, 20.0), (0.0, 20.0)),
        **each("width of", counts.width_of, (1_000_000, 20.0), (1_000_001, 20.0), (-1, 20.0), (5, 0.0), (5, 1001.0)),
        **each("threads at", counts.threads_in, (9.0, 0.0), (9.0, 1001.0), (-1.0, 20.0)),
        **each("grows", grading.Growth, (10.0, 10.0, 10.0), (10.1, 1.0, 1.0), (1.0, 10.1, 1.0), (1.0, 1.0, 0.0)),
        **each("available", capacity.Availability, (100.0, 100.0), (101.0, 1.0), (0.0, 1.0), (1.0, 101.0), (1.0, -1.0)),
        **each(
            "a line of hours",
            hours.check_line,
            (line, "work", Prior()),
            *((replace(line, quantity=amount), "work", Prior()) for amount in (1e6, 1.1e6, 0.0, -1.0)),
            *((replace(line, threads_per_cm=per_cm), "work", Prior()) for per_cm in (400.0, 401.0, 0.0, None)),
            *((replace(line, thread_length_mm=mm), "work", Prior()) for mm in (1e5, 1.1e5, 0.0, None)),
            (replace(line, operation="knit"), "work", Prior()),
            (Line("wash", 1.0), "work", Prior()),
        ),
        **each(
            "days of",
            hours_left.days_of,
            *((90 * 60_000, 90), (90 * 60_000 + 1, 90), (0, 1), (0, 0), (0, 1440), (0, 1441), (-1, 90)),
            *((100_000 * 60_000, 1), (100_001 * 60_000, 1), (10**15, 1), (10**15 + 1, 1), (5, 1.5)),
        ),
        **each(
            "yarn of", yarn.tex_of, ("Nm", 1e6, 1000), ("Nm", 1.1e6), ("Nm", 1.0, 1001), ("denier", 9.0, 2), ("Nm", 0.0)
        ),
        **each("number of", yarn.number_of, ("Nm", 1e6), ("Nm", 1.1e6), ("ells", 5.0), ("denier", 5.0), ("Nm", 0.0)),
        **each("cover", yarn.cover_si, (20.0, 1e6), (20.0, 1.1e6), (0.0, 5.0)),
        **each("cover by Peirce", yarn.cover_peirce, (20.0, 25.0), (0.0, 25.0), (20.0, 0.0)),
        **each("put up", yarn.tex_of_put_up, (10.0, 80.0), (0.0, 80.0), (10.0, 0.0)),
        **each(
            "weighs",
            lambda *at: yarn.weight_g_per_m2(yarn.Threads(*at), yarn.Threads(19.0, 25.0)),
            *((20.0, 25.0, 100.0), (20.0, 25.0, 101.0), (20.0, 1.1e6), (0.0, 25.0), (20.0, 25.0, -1.0)),
        ),
        **each("tex of a cloth", yarn.average_tex, (20.0, 0.0, 9.0), (0.0, 20.0, 9.0), (20.0, 20.0, 0.0)),
        **each(
            "steered at",
            lambda *at: steer.steer(steer.SteerAsk(*at)),
            ("ladder", (4, 10**6 + 1), 4, 1, 4),
            ("ladder", (4, 10**6), 4, 1, 10**6),
            ("ladder", (4, 4), 0, 1, 4),
            ("ladder", (4, 4), 4, 2, 4),
            ("ladder", (4, 4), 4, 1, 0),
            ("ladder", (4, 4), 4, 1, 10**6 + 1),
            ("ladder", (4, 4), 4, 1, 4, 2),
            ("ladder", (4, 4), 4, 1, 4, 0, "later"),
            ("ladder", (), 4, 0, 4),
        ),
        **each(
            "counted standing",
            lambda standing: section_work.replan_section(hem, ClothCounts(20.0, 19.0), standing_threads=standing),
            *((1,), (3,), (1_000_001,)),
        ),
    }


_SIZES = (
    "Bust 80 cm",
    "bust 79 cm",
    "Bust 100",
    "Bust 101",
    "20 cm square",
    "19 cm square",
    "40 cm square",
    "41 cm square",
    "56",
    "50",
    "62, or 63",
    "86",
    "87",
    "92",
    "Bust 120, 68",
    "bust 81 cm",
    "30 cm square",
    "29 cm square",
)
