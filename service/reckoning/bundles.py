"""Bundles of standing threads: how odd threads spread over them, and how they cluster."""

from itertools import pairwise

from service.reckoning.asked import whole


def spread_sizes(standing_threads: int, bundles: int) -> tuple[int, ...]:
    """Return sizes of `bundles` bundles that use every standing thread, the odd ones placed evenly.

    Sizes are threads a bundle, from the band's beginning on.

    >>> spread_sizes(14, 3)
    (5, 4, 5)
    """
    each, odd = divmod(whole("standing_threads", standing_threads, 0), whole("bundles", bundles))
    ends = [(2 * place * odd + bundles) // (2 * bundles) for place in range(bundles + 1)]
    return tuple(each + after - before for before, after in pairwise(ends))


def clusters(bundles: int, bundles_each: int) -> tuple[int, int]:
    """Return how many whole clusters of so many bundles there are, and the bundles left over.

    >>> clusters(62, 3)
    (20, 2)
    """
    return divmod(whole("bundles", bundles, least=0), whole("bundles_each", bundles_each))
