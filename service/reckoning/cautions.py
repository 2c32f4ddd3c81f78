"""The usual cautions for a garment, each with its source, by what it has and who will wear it.

They remind; they certify nothing. The numbers are those of the published rules named beside them, as they were read.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from service.reckoning.asked import not_below
from service.reckoning.yarn import BURN_TEST_BELOW_G_PER_M2

Wearer = Literal["under three", "older child", "adult"]
WEARERS: tuple[Wearer, ...] = ("under three", "older child", "adult")
Part = Literal["buttons", "shell", "ties", "beads", "metal", "lace", "bonnet", "open work"]

REMINDER = (
    "This is a reminder, not legal advice or a safety certificate. Rules differ by country and change: before you "
    "sell, check local rules with your product-safety office or a qualified test house."
)
COMMON = "common practice, no source"
INFANT_ONE_PIECE_MM = 648  # 16 CFR 1615.1(c): one-piece infant garments up to 64.8 cm
UNDER_THREE_MONTHS, CHILD_MONTHS = 36, 14 * 12
_PARTS: tuple[tuple[Part, str], ...] = (
    ("buttons", r"\bbuttons?\b"),
    ("shell", r"\b(shell|mother.of.pearl|horn|bone)\b"),
    ("ties", r"\b(ties?|tied|ribbons?|cords?|drawstrings?|sash|bows?)\b"),
    ("beads", r"\b(beads?|pearls?|sequins?|rhinestones?|crystals?)\b"),
    ("metal", r"\b(hooks?|press fasteners?|snaps?|poppers?|rivets?|zips?)\b"),
    ("lace", r"\blace\b"),
    ("bonnet", r"\b(bonnet|cap|hat|hood)\b"),
)


@dataclass(frozen=True, slots=True)
class Worn:
    """What of a garment the cautions turn on: its parts, its length in mm, its lightest cloth in g/m², its wearer.

    None where a length or weight is not known.
    """

    wearer: Wearer
    parts: frozenset[Part] = frozenset()
    length_mm: float | None = None
    lightest_g_per_m2: float | None = None

    def __post_init__(self) -> None:
        for field in ("length_mm", "lightest_g_per_m2"):
            if (value := getattr(self, field)) is not None:
                not_below(field, value)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution in plain words, and where it comes from."""

    text: str
    source: str


def parts_named(words: Iterable[str]) -> frozenset[Part]:
    """Return the parts that the names of a garment and of its sections speak of.

    >>> sorted(parts_named(["Bonnet", "Ties with a button each"]))
    ['bonnet', 'buttons', 'ties']
    """
    said = " ".join(words).lower()
    return frozenset(part for part, pattern in _PARTS if re.search(pattern, said))


def wearer_on(born: date | None, day: date) -> Wearer:
    """Return who wears it by the age on a day; a child of unknown age is taken for the youngest.

    >>> wearer_on(date(2026, 11, 1), date(2029, 10, 31)), wearer_on(date(2026, 11, 1), date(2029, 11, 1))
    ('under three', 'older child')
    """
    if born is None:
        return "under three"
    months = (day.year - born.year) * 12 + day.month - born.month - (day.day < born.day)
    if months < UNDER_THREE_MONTHS:
        return "under three"
    return "older child" if months < CHILD_MONTHS else "adult"


def cautions_for(worn: Worn) -> tuple[Caution, ...]:
    """Return the cautions that apply to a garment and its wearer, the gravest first."""
    return tuple(caution for applies, caution, _ in _RULES if applies(worn))


def care_for(worn: Worn) -> tuple[str, ...]:
    """Return what to tell whoever the garment is for, by the same rules; what its maker sees to is left out.

    >>> care_for(Worn("older child", frozenset({"metal"})))[0]
    'It is not for sleeping in. Keep it away from candles and flame.'
    """
    return tuple(words for applies, _, words in _RULES if words and applies(worn))


def _child(worn: Worn) -> bool:
    return worn.wearer != "adult"


def _baby(worn: Worn) -> bool:
    return worn.wearer == "under three"


def _has(part: Part) -> Callable[[Worn], bool]:
    return lambda worn: part in worn.parts


def _and(*all_of: Callable[[Worn], bool]) -> Callable[[Worn], bool]:
    return lambda worn: all(one(worn) for one in all_of)


def _light(worn: Worn) -> bool:
    return worn.lightest_g_per_m2 is not None and worn.lightest_g_per_m2 < BURN_TEST_BELOW_G_PER_M2


def _long(worn: Worn) -> bool:
    return worn.length_mm is not None and worn.length_mm > INFANT_ONE_PIECE_MM


_RULES: tuple[tuple[Callable[[Worn], bool], Caution, str], ...] = (
    (
        _and(_baby, _has("bonnet")),
        Caution(
            "Take the bonnet off before sleep, before the car seat and whenever no one is watching: a ribbon round a "
            "neck can strangle.",
            "US CPSC alert on clothing tied round the neck; the car seat is common practice, no source",
        ),
        (
            "Take the bonnet off before sleep, before the car seat and whenever no one is watching: a ribbon round a "
            "neck can strangle."
        ),
    ),
    (
        _and(_child, _has("ties")),
        Caution(
            "No tie or drawstring at the neck. Keep every ribbon end short, stitch bows down so that they cannot be "
            "pulled open, and let nothing hang below the hem.",
            "EN 14682:2014, which leaves out bonnets and clothes worn for a short celebration under supervision",
        ),
        (
            "Keep ribbons away from the neck and out of the mouth, and see before each wearing that every bow is "
            "still stitched down."
        ),
    ),
    (
        _and(_baby, _has("buttons")),
        Caution(
            "Tug every button hard before it leaves. For a child under three have the pull tested by someone equipped "
            "to: 70 N from 6 mm across, 50 N from 3 to under 6 mm.",
            "EN 17394-2:2020 with CEN/TS 17394-1:2021, as read in a laboratory's bulletin",
        ),
        "Tug every button before each wearing: one that gives is sewn on again before the child wears it.",
    ),
    (
        _baby,
        Caution(
            "Anything that comes off and fits in a tube 32 mm across can choke a baby: sew it so that it cannot come "
            "off, or leave it off.",
            "the small-parts cylinder of 16 CFR 1501.4; 1501.3(d) exempts buttons on clothing, the danger stays",
        ),
        "Look it over before each wearing, ribbons, buttons and lace: a small part that comes off can choke a baby.",
    ),
    (
        _and(_child, _has("beads")),
        Caution(
            "Leave beads, pearls and glued trims off a child's garment; use stitched motifs instead. Ask the supplier "
            "for lead test papers for every crystal or painted part.",
            "common practice, no source; for lead 100 ppm, US CPSIA",
        ),
        (
            "Look at every bead and trim before each wearing, and keep them out of the mouth: what has come loose is "
            "taken off."
        ),
    ),
    (
        _and(_child, _has("metal")),
        Caution(
            "Ask the supplier for lead test papers for every snap, hook and painted button.",
            "US CPSIA: 100 ppm in any part that a child can reach",
        ),
        "",
    ),
    (
        _light,
        Caution(
            "This cloth is lighter than 88 g per square metre and not a listed fibre: in the US it must be tested for "
            "burning before sale. Candles are lit at christenings; sheer cloth burns fast.",
            "16 CFR 1610.1(d)",
        ),
        "This cloth is thin and burns fast: keep it away from every flame. Candles are lit at christenings.",
    ),
    (
        _and(_baby, _long),
        Caution(
            "Longer than 64.8 cm: this gown is for wearing awake and watched. Do not put a baby to sleep in it; keep "
            "it away from candles and flame. A long gown trips the person who carries the baby.",
            "16 CFR 1615.1(c) on infants' garments; the rest is common practice, no source",
        ),
        (
            "This gown is for wearing awake and watched: do not put a baby to sleep in it, and keep it away from "
            "candles and flame. A long gown trips the person who carries the baby."
        ),
    ),
    (
        _and(_child, lambda worn: not _long(worn)),
        Caution(
            "Not for sleep, and away from candles and flame, unless it has passed the rules for sleepwear where it is "
            "sold.",
            "16 CFR 1615 and 1616; Nightwear (Safety) Regulations 1985, SI 1985/2043",
        ),
        "It is not for sleeping in. Keep it away from candles and flame.",
    ),
    (
        _and(_baby, _has("open work")),
        Caution(
            "Open work can catch a tiny finger, and a loose thread can wind round a toe: line or leave out open work "
            "at wrists and feet, and trim every thread inside.",
            COMMON,
        ),
        "Look inside before each wearing: open work can catch a tiny finger, and a loose thread can wind round a toe.",
    ),
    (
        _child,
        Caution(
            "Never close a gown on a child with a pin. Wash out marking ink, starch and finishing chemicals first.",
            COMMON,
        ),
        "Never close it on a child with a pin.",
    ),
    (
        _has("shell"),
        Caution(
            "Shell, horn and bone buttons must be declared in the EU: contains non-textile parts of animal origin.",
            "Regulation (EU) 1007/2011, Article 12 (from memory)",
        ),
        "",
    ),
    (
        _has("lace"),
        Caution(
            "Heirloom lace and buttons of unknown age may hold lead or give way: have them looked at first.",
            "from memory",
        ),
        (
            "Old lace and buttons of unknown age may hold lead or give way: keep them out of the mouth, and look at "
            "them often."
        ),
    ),
)
