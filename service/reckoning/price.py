"""The quote: what the work most likely costs, the price of not knowing, overhead, materials, margin and rounding.

All money is whole minor units; every line is rounded half up once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.reckoning.asked import Wrong, not_below, whole
from service.reckoning.money import exactly, half_up, money, percent_of, shared_out, up_to_step

MOST_HOURS = 1e6
MOST_INSTALMENTS = 60
LEAST_CHANCE, MOST_CHANCE = 0.5, 0.9
SUGGESTED_DEPOSIT_PERCENT = 40  # a guess: between 30 and 50 is common practice, no source


@dataclass(frozen=True, slots=True)
class PriceAsk:
    """What is quoted for: likely and quoted hours, an hour's rate and overhead, materials; in minor units."""

    hours_p50: float
    hours_quoted: float
    hour_rate: int
    overhead_per_hour: int
    materials: int
    margin_percent: float
    price_step: int = 1
    instalments_percent: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Price:
    """The lines of a quote. `cost` is labour, risk, overhead and materials; `price` is cost, margin and rounding."""

    labour: int
    risk: int
    overhead: int
    materials: int
    cost: int
    margin: int
    rounding: int
    price: int
    instalments: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class AlterationAsk:
    """A change after the quote: quoted hours of the work left before and after it, on the same draws.

    `materials_change` may be negative. `unworked` is what of the agreed price is not yet worked: no more than that
    is ever given back, because work done on a part that falls away stays payable.
    """

    hours_before: float
    hours_after: float
    hour_rate: int
    overhead_per_hour: int
    materials_change: int
    margin_percent: float
    fee: int
    unworked: int


@dataclass(frozen=True, slots=True)
class Alteration:
    """The lines of an alteration; `total` is to pay, or to give back when negative. `held` was not given back."""

    work: int
    materials: int
    margin: int
    fee: int
    held: int
    total: int


def reckon_price(ask: PriceAsk) -> Price:
    """Return the lines of a quote. Raises Wrong, naming the field, for what cannot be priced."""
    _check_rates(ask.hour_rate, ask.overhead_per_hour)
    likely = _hours("hours_p50", ask.hours_p50)
    quoted = _hours("hours_quoted", ask.hours_quoted)
    if quoted < likely:
        raise Wrong("hours_quoted", "must not be fewer than the likely hours (hours_p50)")
    step = money("price_step", ask.price_step, 1)
    labour = half_up(likely * ask.hour_rate)
    risk = half_up((quoted - likely) * ask.hour_rate)
    overhead = half_up(quoted * ask.overhead_per_hour)
    materials = money("materials", ask.materials)
    cost = labour + risk + overhead + materials
    margin = percent_of("margin_percent", ask.margin_percent, cost)
    price = up_to_step(cost + margin, step)
    return Price(
        labour=labour,
        risk=risk,
        overhead=overhead,
        materials=materials,
        cost=cost,
        margin=margin,
        rounding=price - cost - margin,
        price=price,
        instalments=instalments(price, ask.instalments_percent),
    )


def instalments(price: int, percents: Sequence[float]) -> tuple[int, ...]:
    """Share a price out in parts that add up exactly, the deposit first; no parts when none are named.

    Price and parts are in minor units; raises Wrong for percentages that do not add up to 100.

    >>> instalments(72500, (40, 30, 30)), instalments(100, (33.3, 33.3, 33.4))
    ((29000, 21750, 21750), (33, 33, 34))
    """
    if not percents:
        return ()
    whole("instalments_percent", len(percents), 1, MOST_INSTALMENTS)
    parts = [
        exactly(f"instalments_percent.{place}", not_below(f"instalments_percent.{place}", each, 0, 100))
        for place, each in enumerate(percents)
    ]
    if sum(parts) != 100:
        raise Wrong("instalments_percent", f"must add up to 100, not {float(sum(parts)):g}")
    return shared_out(price, parts)


def suggested_deposit(price: int, materials: int) -> int:
    """Return a deposit that covers the materials: at least 40 % (a guess), at most the whole price.

    >>> suggested_deposit(72500, 8600)
    29000
    """
    least = percent_of("deposit_percent", SUGGESTED_DEPOSIT_PERCENT, money("price", price))
    return min(price, max(least, money("materials", materials)))


def quoted_chance(missed_hour: int, lost_hour: int) -> float:
    """Return the chance of not being exceeded at which to quote hours, held between a half and nine in ten.

    `missed_hour` is what an hour too few costs (the hour unpaid), `lost_hour` what an hour too many costs (the chance
    of losing the client, in money an hour): missed / (missed + lost), the newsvendor's rule (Edgeworth 1888; Arrow,
    Harris & Marschak 1951; from memory).

    >>> round(quoted_chance(3650, 1825), 6)
    0.666667
    """
    missed, lost = money("missed_hour", missed_hour, 1), money("lost_hour", lost_hour)
    return min(MOST_CHANCE, max(LEAST_CHANCE, missed / (missed + lost)))


def reckon_alteration(ask: AlterationAsk) -> Alteration:
    """Return the lines of an alteration. Raises Wrong, naming the field, for what cannot be priced."""
    _check_rates(ask.hour_rate, ask.overhead_per_hour)
    more = _hours("hours_after", ask.hours_after) - _hours("hours_before", ask.hours_before)
    work = half_up(more * (ask.hour_rate + ask.overhead_per_hour))
    materials = money("materials_change", ask.materials_change, -(10**12))
    margin = percent_of("margin_percent", ask.margin_percent, work + materials)
    fee = money("fee", ask.fee)
    asked = work + materials + margin + fee
    total = max(asked, -money("unworked", ask.unworked))
    return Alteration(work, materials, margin, fee, total - asked, total)


def _hours(field: str, value: float) -> Fraction:
    return exactly(field, not_below(field, value, 0, MOST_HOURS))


def _check_rates(hour_rate: int, overhead_per_hour: int) -> None:
    money("hour_rate", hour_rate)
    money("overhead_per_hour", overhead_per_hour)
