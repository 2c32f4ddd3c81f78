"""The reckoner's drawings of a band's end and of one width on two cloths: read as XML, told in words, to scale."""

import re
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.finished_band import finished_band
from service.drawing.thread_strips import thread_strips
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.bands import BandAsk, apply_choice, plan_band
from service.reckoning.counts import convert

SVG = "{http://www.w3.org/2000/svg}"


def lines_of(drawing: str, ink: str) -> int:
    """How many separate lines are drawn in that ink."""
    return sum(
        len(re.findall("[Mm]", part.get("d", "")))
        for part in ET.fromstring(drawing).iter(f"{SVG}path")
        if part.get("class") == ink
    )


def text_of(drawing: str) -> str:
    told = ET.fromstring(drawing).find(f"{SVG}desc")
    assert told is not None
    return told.text or ""


def asking(kind: BandKind, standing_threads: int, width_mm: float = 9) -> BandAsk:
    return BandAsk(kind, 20, 20, width_mm=width_mm, standing_threads=standing_threads)


def test_a_short_band_is_drawn_whole_with_its_left_over_threads_apart() -> None:
    drawing = finished_band(plan_band(asking("hem_band", 39)))
    assert text_of(drawing) == "9 bundles, 9 knots, 9 mm wide, 3 threads left over."
    assert (lines_of(drawing, "d-done"), lines_of(drawing, "d-knot")) == (36, 9)
    assert lines_of(drawing, "d-here") == 3 + 1  # each thread, and the bracket under them
    assert "3 left over" in drawing


def test_threads_that_vanish_in_a_seam_are_not_marked_as_wanting_a_hand() -> None:
    drawing = finished_band(apply_choice(asking("hem_band", 39), "into_seam"))
    assert lines_of(drawing, "d-here") == 0
    assert "3 in the seam" in drawing


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_a_long_band_shows_its_end_with_whole_bundles_in_step(kind: BandKind) -> None:
    drawing = finished_band(plan_band(asking(kind, 480)))
    assert 52 <= lines_of(drawing, "d-done") <= 64
    assert len(drawing) < 12_000


def test_a_band_is_as_deep_as_its_scale_says() -> None:
    root = ET.fromstring(finished_band(plan_band(asking("ladder", 480))))
    gap = next(part for part in root.iter(f"{SVG}rect") if part.get("class") == "d-gap")
    px_per_mm = float(gap.get("height", 0)) / 9
    assert float(gap.get("width", 0)) / px_per_mm == pytest.approx(52 * 0.5, rel=0.05)  # 52 threads at 20 per cm


def test_a_band_too_deep_to_draw_says_that_its_width_is_not_to_scale() -> None:
    assert "its width not to scale" in finished_band(plan_band(asking("ladder", 480, 60)))
    assert "its width not to scale" not in finished_band(plan_band(asking("ladder", 480, 9)))


@pytest.mark.parametrize(
    "ask",
    [
        pytest.param(asking("ladder", 3), id="no bundle"),
        pytest.param(BandAsk("ladder", 20, 20, width_mm=0.01, standing_threads=40), id="no thread withdrawn"),
        pytest.param(
            BandAsk("ladder", 20, 20, width_mm=9, standing_threads=900_000, bundle_threads=300_000), id="huge bundles"
        ),
    ],
)
def test_what_cannot_be_seen_is_not_drawn(ask: BandAsk) -> None:
    assert finished_band(plan_band(ask)) == ""


@given(
    st.sampled_from(BAND_KINDS),
    st.integers(1, 3000),
    st.integers(1, 70),
    st.booleans(),
    st.sampled_from((1, 2)),
)
def test_every_band_is_drawn_as_sound_xml(
    kind: BandKind, standing: int, bundle: int, closed_round: bool, pair_rows: int
) -> None:
    ask = BandAsk(
        kind,
        20,
        20,
        width_mm=7,
        standing_threads=standing,
        bundle_threads=bundle,
        closed_round=closed_round,
        pair_rows=pair_rows,
    )
    drawing = finished_band(plan_band(ask))
    if drawing:
        root = ET.fromstring(drawing)
        assert root.get("role") == "img"
        assert "nan" not in drawing


def test_one_width_on_two_cloths_is_drawn_to_one_scale() -> None:
    found = convert(threads=18, from_threads_per_cm=50 / 2.54, to_threads_per_cm=76 / 2.54)
    drawing = thread_strips(found, 18)
    assert lines_of(drawing, "d-thread") == 18 + 27
    gaps = [float(part.get("width", 0)) for part in ET.fromstring(drawing).iter(f"{SVG}rect")]
    assert gaps[1] / gaps[0] == pytest.approx(9.024 / 9.144, abs=0.001)
    assert text_of(drawing) == "18 threads, 9.14 mm; 27 threads, 9.02 mm."


def test_a_width_without_threads_is_drawn_empty() -> None:
    assert lines_of(thread_strips(convert(width_mm=9, to_threads_per_cm=20), None), "d-thread") == 18


@pytest.mark.parametrize(("width_mm", "per_cm"), [(0.1, 20), (200, 20)])
def test_no_thread_and_too_many_threads_are_not_drawn(width_mm: float, per_cm: float) -> None:
    assert thread_strips(convert(width_mm=width_mm, to_threads_per_cm=per_cm), None) == ""
