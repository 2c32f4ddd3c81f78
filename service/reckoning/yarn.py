"""Yarn numbers and what follows for a cloth: cover, weight per square metre, and two cautions.

tex is grams per km. The other systems are lengths per mass: Nm m/g, Ne (cotton) 840 yd, NeL (linen lea) 300 yd
and Nw (worsted) 560 yd to the pound. Ticket numbers as thread makers print them. 1 lb = 453.59237 g and
1 yd = 0.9144 m exactly.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.counts import checked_count
from service.reckoning.findings import Finding
from service.reckoning.lengths import CM_PER_INCH

G_PER_LB = 453.59237
M_PER_YD = 0.9144
TEX_TIMES_NE = 1000 * G_PER_LB / (840 * M_PER_YD)  # 590.54: cotton number = this / tex
MOST_NUMBER = 1e6

# Every system is either a multiple of tex or a constant divided by it.
PER_TEX: Mapping[str, float] = MappingProxyType({"tex": 1.0, "denier": 9.0})
TEX_TIMES: Mapping[str, float] = MappingProxyType(
    {
        "Nm": 1000.0,
        "Ne": TEX_TIMES_NE,
        "NeL": TEX_TIMES_NE * 840 / 300,
        "Nw": TEX_TIMES_NE * 840 / 560,
        "metric ticket": 3000.0,
        "cotton ticket": 3 * TEX_TIMES_NE,
    }
)

BURN_TEST_BELOW_G_PER_M2 = 88.2  # 16 CFR 1610.1(d): 2.6 oz per square yard
LISTED_FIBRES = frozenset({"acrylic", "modacrylic", "nylon", "olefin", "polyester", "wool"})  # as that rule lists
NOT_SQUARE_PERCENT = 5  # common practice, no source
REMINDER = (
    "This is a reminder, not legal advice or a safety certificate. Rules differ by country and change. "
    "Before you sell, check with your local product-safety office or a qualified test house."
)


@dataclass(frozen=True, slots=True)
class Threads:
    """One system of a cloth: threads per cm, the yarn's tex as it lies folded, and the crimp in per cent.

    Crimp is how much longer the yarn is than the cloth it lies in.
    """

    per_cm: float
    tex: float
    crimp_percent: float = 0.0


@dataclass(frozen=True, slots=True)
class Cover:
    """Cover factors of the warp, the weft and the cloth (their sum), one form throughout."""

    warp: float
    weft: float

    @property
    def cloth(self) -> float:
        """Warp and weft together."""
        return self.warp + self.weft


def tex_of(system: str, number: float, plies: int = 1) -> float:
    """Return the tex of a yarn: of a folded one, all its plies together (Nm 2/48: plies 2, number 48).

    A ticket number is the finished thread's own. Raises Wrong for a system not known.

    >>> round(tex_of("Nm", 48, plies=2), 3), tex_of("denier", 90)
    (41.667, 10.0)
    """
    value = above_zero("number", number, MOST_NUMBER)
    folded = whole("plies", plies, at_most=1000)
    if system in PER_TEX:
        return folded * value / PER_TEX[system]
    return folded * _tex_times(system) / value


def number_of(system: str, tex: float) -> float:
    """Return the yarn number in that system of a yarn of `tex`, as of a single yarn.

    Raises Wrong for a system not known.

    >>> round(number_of("NeL", tex_of("Ne", 20)), 9)
    56.0
    """
    above_zero("tex", tex, MOST_NUMBER)
    return tex * PER_TEX[system] if system in PER_TEX else _tex_times(system) / tex


def tex_of_put_up(mass_g: float, length_m: float) -> float:
    """Return the tex of a thread from a ball's or skein's own weight and length.

    >>> tex_of_put_up(10, 80)
    125.0
    """
    return 1000 * above_zero("mass_g", mass_g) / above_zero("length_m", length_m)


def cover_si(per_cm: float, tex: float) -> float:
    """Return the cover factor K = threads per cm × √tex / 10; threads touch near 28.

    >>> round(cover_si(28, 20), 2)
    12.52
    """
    return checked_count("per_cm", per_cm) * math.sqrt(above_zero("tex", tex, MOST_NUMBER)) / 10


def cover_peirce(per_cm: float, tex: float) -> float:
    """Return Peirce's cover factor K = threads per inch / √(cotton number), about 4.5 % above the SI one.

    >>> round(cover_peirce(28, 20), 2)
    13.09
    """
    return checked_count("per_cm", per_cm) * CM_PER_INCH / math.sqrt(number_of("Ne", tex))


def cover_of(warp: Threads, weft: Threads) -> tuple[Cover, Cover]:
    """Return the cloth's cover in the SI form and in Peirce's, each of warp and weft apart; no unit."""
    systems = (("warp", warp), ("weft", weft))
    for name, threads in systems:
        _checked(name, threads)
    si, peirce = ([form(each.per_cm, each.tex) for _, each in systems] for form in (cover_si, cover_peirce))
    return Cover(*si), Cover(*peirce)


def weight_g_per_m2(warp: Threads, weft: Threads) -> float:
    """Return the cloth's weight in g per square metre: threads per cm × tex × (1 + crimp) / 10, both systems.

    Loom-state arithmetic: size, dressing and moisture are not in it.

    >>> round(weight_g_per_m2(Threads(20, 25), Threads(19, 25)), 1)
    97.5
    """
    return _system_g_per_m2("warp", warp) + _system_g_per_m2("weft", weft)


def average_tex(warp_per_cm: float, weft_per_cm: float, g_per_m2: float) -> float:
    """Return the average tex of a cloth's yarns, crimp counted in, from its counts and its weight in g/m².

    Source: the average yarn number of the former US tariff schedules.

    >>> average_tex(20, 20, 100)
    25.0
    """
    threads = checked_count("warp_per_cm", warp_per_cm) + checked_count("weft_per_cm", weft_per_cm)
    return 10 * above_zero("g_per_m2", g_per_m2) / threads


def burning_findings(g_per_m2: float, fibre: str = "") -> tuple[Finding, ...]:
    """Return a finding for cloth under 88.2 g/m², unless it is wholly of a fibre that 16 CFR 1610.1(d) lists.

    >>> [found.code for found in burning_findings(70, "linen")], burning_findings(70, "wool")
    (['burn_test'], ())
    """
    if above_zero("g_per_m2", g_per_m2) >= BURN_TEST_BELOW_G_PER_M2 or fibre.strip().lower() in LISTED_FIBRES:
        return ()
    text = (
        f"This cloth weighs {g_per_m2:.1f} g per square metre, lighter than 88.2 and not a listed fibre: in the US it "
        "must be tested for burning before sale (16 CFR 1610). Sheer cloth burns fast, and candles are lit at "
        f"christenings. {REMINDER}"
    )
    return (Finding("burn_test", text),)


def square_findings(warp_per_cm: float, weft_per_cm: float) -> tuple[Finding, ...]:
    """Return a finding when the counts differ so much that squares of the same number of threads are not square.

    Source: Dillmont, cut open-work (fig. 96): the same number of threads out and left each way. The limit of 5 %
    is common practice, no source; 21 against 20 is still square.

    >>> [found.code for found in square_findings(20, 18)], square_findings(21, 20)
    (['not_square'], ())
    """
    warp, weft = checked_count("warp_per_cm", warp_per_cm), checked_count("weft_per_cm", weft_per_cm)
    finer, coarser = max(warp, weft), min(warp, weft)
    longer_percent = float(100 * (_as_counted(finer) / _as_counted(coarser) - 1))
    if longer_percent <= NOT_SQUARE_PERCENT:
        return ()
    fewer = 20 * coarser / finer
    text = (
        f"With the same number of threads each way, a square of cut work comes out {longer_percent:.0f} % too long "
        f"along the warp: for every 20 warp threads drawn, draw {fewer:.1f} weft threads."
        if warp > weft
        else "With the same number of threads each way, a square of cut work comes out "
        f"{longer_percent:.0f} % too long along the weft: "
        f"for every 20 weft threads drawn, draw {fewer:.1f} warp threads."
    )
    return (Finding("not_square", text),)


def _as_counted(per_cm: float) -> Fraction:
    """The threads per cm that were counted, without the float dust of a mean or of 1 inch = 2.54 cm.

    >>> _as_counted(42 / 2.54) == Fraction(4200, 254), _as_counted(21.3)
    (True, Fraction(213, 10))
    """
    return Fraction(per_cm).limit_denominator()


def _tex_times(system: str) -> float:
    if system not in TEX_TIMES:
        known = ", ".join((*PER_TEX, *TEX_TIMES))
        raise Wrong("system", f"must be one of {known}, not {system!r}")
    return TEX_TIMES[system]


def _checked(name: str, threads: Threads) -> None:
    checked_count(f"{name}.per_cm", threads.per_cm)
    above_zero(f"{name}.tex", threads.tex, MOST_NUMBER)
    not_below(f"{name}.crimp_percent", threads.crimp_percent, at_most=100)


def _system_g_per_m2(name: str, threads: Threads) -> float:
    _checked(name, threads)
    return threads.per_cm * threads.tex * (1 + threads.crimp_percent / 100) / 10
