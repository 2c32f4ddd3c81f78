"""How close bundles lie in one hand and in another: bundles on 50 mm, counted at two places each."""

from dataclasses import dataclass

from service.reckoning.asked import above_zero
from service.reckoning.findings import Finding

OVER_MM = 50
MOST_DIFFERENCE = 0.05  # common practice, no source


@dataclass(frozen=True, slots=True)
class Sample:
    """Bundles on 50 mm at two places of one row."""

    first: float
    second: float

    def __post_init__(self) -> None:
        above_zero("first", self.first)
        above_zero("second", self.second)

    @property
    def mean(self) -> float:
        """The mean of both places."""
        return (self.first + self.second) / 2

    @property
    def uneven(self) -> float:
        """How much more bundles lie at the closer place than at the other, as a part of the other's.

        >>> round(Sample(30, 44).uneven, 3)
        0.467
        """
        return max(self.first, self.second) / min(self.first, self.second) - 1


def difference(given: Sample, taken: Sample) -> float:
    """Return how much more bundles lie on 50 mm in the receiver's hand than in the giver's, as a part of the giver's.

    >>> round(difference(Sample(25, 25), Sample(26, 27)), 3)
    0.06
    """
    return (taken.mean - given.mean) / given.mean


def tension_finding(given: Sample, taken: Sample) -> Finding | None:
    """Return a finding when the two hands differ by more than 5 % (common practice, no source), else None.

    More bundles on the same length are a tighter hand: every knot draws the cloth in.

    >>> tension_finding(Sample(25, 25), Sample(26, 26.5)) is None
    True
    >>> tension_finding(Sample(25, 25), Sample(26, 27)).text[:64]
    'The sample lies 6 % closer than the work: 26.5 bundles on 50 mm,'
    """
    share = difference(given, taken)
    if round(abs(share), 6) <= MOST_DIFFERENCE:
        return None
    tighter = share > 0
    text = (
        f"The sample lies {abs(share) * 100:.2g} % {'closer' if tighter else 'wider'} than the work: {taken.mean:g} "
        f"bundles on {OVER_MM} mm, {given.mean:g} in the piece. Work another sample row "
        f"{'with a looser' if tighter else 'with a firmer'} thread before the first knot in the piece, or agree "
        "between you where the change may show (more than 5 % apart; common practice, no source)."
    )
    return Finding("tension_differs", text)


def uneven_finding(taken: Sample) -> Finding | None:
    """Return a finding when the two places of a sample differ by more than 5 % (common practice, no source), else None.

    Their mean can agree with the work while the hand that made them is uneven.

    >>> uneven_finding(Sample(35, 36)) is None
    True
    >>> uneven_finding(Sample(30, 44)).text[:91]
    'The two places of the sample differ by 47 %: 30 and 44 bundles on 50 mm. Their mean says no'
    """
    if round(taken.uneven, 6) <= MOST_DIFFERENCE:
        return None
    text = (
        f"The two places of the sample differ by {taken.uneven * 100:.2g} %: {taken.first:g} and {taken.second:g} "
        f"bundles on {OVER_MM} mm. Their mean says nothing of the work. Work another sample row before the first knot "
        "in the piece, until both places lie alike (more than 5 % apart; common practice, no source)."
    )
    return Finding("sample_uneven", text)
