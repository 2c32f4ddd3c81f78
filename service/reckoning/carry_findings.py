"""What is noticed when a garment's sections are laid beside each other on a cloth."""

from service.reckoning.findings import Finding


def crosses(other: str) -> Finding:
    """Return the finding about two sections lying over each other."""
    return Finding(
        "crosses",
        f"This section lies over {other}: move one of them, or stop both before the corner with two stop lines each "
        "and say that they make a corner.",
        waits=True,
    )


def counts_differ() -> Finding:
    """Return the finding about one band on panels whose cloths differ."""
    return Finding(
        "counts_differ",
        "The panels this section runs over are of cloths with different counts: its threads to withdraw and its "
        "bundles are those of the first, so cut the panels from one cloth.",
        waits=True,
    )


def no_stop_line(ends: int, stop_lines: int) -> Finding:
    """Return the finding about a band that ends inside the cloth with nothing to stop its threads."""
    inside = "One end lies" if ends == 1 else "Both ends lie"
    has = {0: "it has no stop line", 1: "it has one stop line"}[stop_lines]
    return Finding(
        "no_stop_line",
        f"{inside} inside the cloth and {has}: give every such end a stop line.",
        waits=True,
    )


def bands_close(other: str, space_mm: float) -> Finding:
    """Return the finding about two sections with hardly any cloth between them (common practice, no source)."""
    return Finding(
        "bands_close",
        f"Only {space_mm:.2g} mm of cloth stands between this section and {other}: the rows of stitches would touch.",
    )
