"""What may be drawn: nonsense is refused by name, an address must be our own."""

from typing import Any

import pytest

from service.drawing.shown import ShownBand, ShownPanel, ShownSection
from service.reckoning.asked import Wrong
from service.reckoning.shapes import Place, Rect

STRIP = Place((Rect(0, 0, 10, 2),))


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("done_fraction", {"done_fraction": 1.01}),
        ("done_fraction", {"done_fraction": float("nan")}),
        ("bundles", {"bundles": -1}),
        ("bundles", {"bundles": 2.5}),
        ("direction", {"direction": None}),
        ("href", {"href": "javascript:alert(1)"}),
        ("href", {"href": "//elsewhere.example/"}),
        ("href", {"href": "https://elsewhere.example/"}),
    ],
)
def test_a_section_that_makes_no_sense_is_refused(field: str, wrong: dict[str, Any]) -> None:
    with pytest.raises(Wrong, match=f"^{field}: "):
        ShownSection("a.b", "Band", "ladder", STRIP, **{"direction": "across", **wrong})


def test_whole_bundles_done_are_counted_down() -> None:
    assert ShownSection("a.b", "Band", "ladder", STRIP, "across", 96, 40.9 / 96).bundles_done == 40
    assert ShownSection("a.b", "Band", "ladder", STRIP, "across", 96, 0.29 / 0.29).bundles_done == 96


def test_a_panel_needs_an_outline_and_a_block() -> None:
    with pytest.raises(Wrong, match=r"^outline: "):
        ShownPanel("a", "A", "front", ((0, 0), (1, 1)), 10, 10)
    with pytest.raises(Wrong, match=r"^block_width_mm: "):
        ShownPanel("a", "A", "front", ((0, 0), (1, 1), (1, 0)), 0, 10)


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("kind", {"kind": "lace"}),
        ("bundles", {"bundles": 0}),
        ("bundle_sizes", {"bundle_sizes": (4, 5)}),
        ("work_direction", {"work_direction": "upwards"}),
        ("pair_rows", {"pair_rows": 3}),
    ],
)
def test_a_band_that_makes_no_sense_is_refused(field: str, wrong: dict[str, Any]) -> None:
    with pytest.raises(Wrong, match=f"^{field}: "):
        ShownBand(**{"kind": "ladder", "name": "Ladder", "bundles": 3, **wrong})
