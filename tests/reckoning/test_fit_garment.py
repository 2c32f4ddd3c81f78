"""A garment held against the child it is for on the day: too small, perhaps, or large."""

import math
from dataclasses import replace
from datetime import date

import pytest

from service.reckoning.asked import Wrong
from service.reckoning.findings import Finding
from service.reckoning.fit import FitAsk, Measured, Span, fit_on_the_day
from service.reckoning.fit_garment import MadeFor, class_named, garment_findings

MEASURED = date(2026, 4, 2)
CHILD = fit_on_the_day(
    FitAsk(
        "girl",
        date(2026, 1, 1),
        date(2026, 10, 2),
        measured=(Measured("length", 620, MEASURED), Measured("head", 403, MEASURED)),
    )
)


@pytest.mark.parametrize(
    ("made_for", "codes"),
    [
        (MadeFor(), []),
        (MadeFor(length_cm=72), ["too_small"]),
        (MadeFor(length_cm=72.1), ["perhaps_too_small"]),
        (MadeFor(length_cm=74), ["perhaps_too_small"]),
        (MadeFor(length_cm=75), []),
        (MadeFor(length_cm=80), []),
        (MadeFor(length_cm=80.4), ["large"]),
        (MadeFor(head_cm=44.4), ["too_small"]),
        (MadeFor(head_cm=46), ["perhaps_too_small"]),
        (MadeFor(head_cm=46.1), []),
        (MadeFor(head_cm=48), ["large"]),
        (MadeFor(length_cm=72, head_cm=44.4), ["too_small", "too_small"]),
    ],
)
def test_a_garment_is_held_against_the_child_on_the_day(made_for: MadeFor, codes: list[str]) -> None:
    assert [finding.code for finding in garment_findings(CHILD, made_for)] == codes


@pytest.mark.parametrize(
    ("size", "named"),
    [
        ("74", 74),
        ("62/68", 68),
        ("68/62", 68),
        ("size 50", 50),
        ("104", 104),
        ("110", None),
        ("44", None),
        ("3 months", None),
        ("", None),
    ],
)
def test_a_designs_size_names_its_largest_class(size: str, named: int | None) -> None:
    assert class_named(size) == named


def test_a_garment_made_for_exactly_what_is_foretold_will_do() -> None:
    child = replace(CHILD, length_mm=Span(720, (700, 740), (690, 750)), head_mm=Span(440, (430, 460), (420, 470)))

    assert [one.code for one in garment_findings(child, MadeFor(72, 44))] == ["perhaps_too_small"] * 2
    assert garment_findings(child, MadeFor(75, 47)) == ()
    assert [one.code for one in garment_findings(child, MadeFor(80, 48))] == ["large", "large"]
    assert garment_findings(child, MadeFor(79.9, 47.9)) == ()


def test_a_garment_too_small_waits_and_says_what_to_do() -> None:
    (small,) = garment_findings(CHILD, MadeFor(length_cm=68))
    (perhaps,) = garment_findings(CHILD, MadeFor(length_cm=74))

    assert small == Finding(
        "too_small",
        "Made for a child of up to 68.0 cm; likely 69.8 to 74.3 cm on the day, with 75.0 cm to allow for. "
        "It will probably be too small: choose a larger size.",
        waits=True,
    )
    assert perhaps.text.endswith("It may be too small: cut the next size, or give it what lets it out later.")
    assert not perhaps.waits


@pytest.mark.parametrize("size", [0, -1, math.nan])
def test_a_garments_size_is_above_zero(size: float) -> None:
    with pytest.raises(Wrong, match="length_cm"):
        garment_findings(CHILD, MadeFor(length_cm=size))
    with pytest.raises(Wrong, match="head_cm"):
        garment_findings(CHILD, MadeFor(head_cm=size))
