"""Small examples of a size, hours, a price and a chance, each answered by the reckoner itself when the page is made."""

import math
from datetime import date, timedelta
from typing import Any

from service.reckoning.capacity import Availability, Stitcher
from service.reckoning.closed_form import closed_form
from service.reckoning.dates import DatesAsk, Job, reckon_dates
from service.reckoning.expected import correlation, z_of
from service.reckoning.expected import expected as carried
from service.reckoning.fit import FitAsk, Measured, fit_on_the_day
from service.reckoning.growth_tables import lms_on
from service.reckoning.hours import Line, Means, Stretch
from service.reckoning.paces import Range
from service.reckoning.price import PriceAsk, instalments, reckon_price
from service.reckoning.rates import LoggedWork, Pace, Prior
from service.reckoning.rates_fit import fit as fitted

Example = dict[str, Any]
FIRST_DAY = date(2026, 3, 2)  # a Monday
KNOTS = 100
TENTH, FIFTH = 1.2816, 0.8416  # how far out a normal score lies that is passed once in ten times, once in five


def for_a_day() -> dict[str, Example]:
    """Every example of a size, hours, a price and a chance, by its name on the page."""
    return {each.__name__: each() for each in (fit, hours, pace, price, parts, chance)}


def fit() -> Example:
    """A girl measured at 91 days, on the day she is 274 days old."""
    born = FIRST_DAY
    seen_on, day = 91, 274
    seen = Measured("length", 620, born + timedelta(days=seen_on))
    found = fit_on_the_day(FitAsk("girl", born, born + timedelta(days=day), (seen,)))
    then, later = lms_on("length", "girl", seen_on), lms_on("length", "girl", day)
    on_the_day = carried("length", z_of(then, seen.value), seen_on, day)
    return {
        "value_mm": seen.value,
        "seen_on": seen_on,
        "day": day,
        "then": then,
        "later": later,
        "z": z_of(then, seen.value),
        "r": correlation("length", seen_on, day),
        "on_the_day": on_the_day,
        "answer": found,
    }


def hours() -> Example:
    """A hundred hem knots by nobody known, while nothing is logged."""
    line = Line("hem_knot", KNOTS, 20.0)
    form = closed_form(fitted(()), [Stretch("knots", (line,))])
    prior = Prior()
    return {
        "knots": KNOTS,
        "seconds": prior.guesses["hem_knot"].seconds,
        "setup_minutes": prior.setup_minutes,
        "work_minutes": KNOTS * prior.guesses["hem_knot"].seconds / 60,
        "ln_sd": form.ln_sd,
        "up": math.exp(FIFTH * form.ln_sd),
        "wide": math.exp(TENTH * form.ln_sd),
        "minutes": {chance: form.hours(chance / 100) * 60 for chance in (10, 50, 80, 90)},
    }


def pace() -> Example:
    """What one sitting of 150 knots in 64 minutes teaches of her pace."""
    prior, knots, minutes = Prior(), 150, 64
    told = fitted((LoggedWork(FIRST_DAY, "Ada", "hem_knot", 20.0, "first gown", knots, minutes),))
    spreads = prior.spreads
    known = sum(each**2 for each in (spreads.studio, spreads.operation, spreads.stitcher, spreads.stitcher_operation))
    one_garment, one_sitting = spreads.garment**2, prior.block_noise**2
    seconds = (minutes - prior.setup_minutes) * 60 / knots
    guess = prior.guesses["hem_knot"].seconds
    return {
        "knots": knots,
        "minutes": minutes,
        "setup_minutes": prior.setup_minutes,
        "seconds": seconds,
        "guess": guess,
        "ln_off": math.log(seconds / guess),
        "known": known,
        "noise": one_garment + one_sitting,
        "share": known / (known + one_garment + one_sitting),
        "answer": math.exp(Means(told).of(Pace("Ada", "hem_knot", 20.0))),
    }


def price() -> Example:
    """Fourteen hours most likely, fifteen quoted, in hundredths of the studio's money."""
    ask = PriceAsk(14, 15, 3200, 450, 8600, 15, 500, (40, 30, 30))
    found = reckon_price(ask)
    return {"ask": ask, "answer": found, "exact_margin": found.cost * ask.margin_percent / 100}


def parts() -> Example:
    """A sum that does not divide, shared out by the largest remainder."""
    total, percents = 10001, (50, 25, 25)
    shares = [total * percent / 100 for percent in percents]
    return {"total": total, "percents": percents, "shares": shares, "answer": instalments(total, percents)}


def chance() -> Example:
    """Ten hours, 8 to 12½ eight times in ten, before a day with twelve hours until its evening."""
    work, a_day, due = Range(8, 10, 12.5), 2, FIRST_DAY + timedelta(days=7)
    ada = Stitcher("Ada", (a_day,) * 5 + (0, 0), availability=Availability(1.0, 0.0))
    found = reckon_dates(DatesAsk(FIRST_DAY, (ada,), (Job("bib", "bib", "Ada", work, due),)))
    ready = found.garments[0].chance_in_time
    room, spread = 6 * a_day, math.log(work.p90 / work.p50) / TENTH
    return {
        "work": work,
        "a_day": a_day,
        "days": 6,
        "room": room,
        "due": due,
        "ln_room": math.log(room / work.p50),
        "spread": spread,
        "steps_out": math.log(room / work.p50) / spread,
        "answer": ready,
        "draws": round((ready or 0) * 2000),
    }
