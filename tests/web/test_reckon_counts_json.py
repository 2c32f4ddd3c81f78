"""Counts, conversions and bands over JSON, against the same handbooks and figures as the pure functions.

Dillmont: T. de Dillmont, Encyclopedia of Needlework, English edition, c. 1890, by figure; totals are arithmetic
from what it prints. The inch is 25.4 mm exactly (international yard, 1959).
"""

import json
from collections.abc import Iterator
from contextlib import closing
from typing import Any

import httpx2
import pytest

from tests.serving import OWNER, STITCHER, Live

PER_INCH_50 = 50 / 2.54
PER_INCH_76 = 76 / 2.54
TOO_MANY_BYTES = 2_000_001


@pytest.fixture(scope="module")
def owner(running: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(running.signed_in(OWNER)) as client:
        yield client


def asked(owner: httpx2.Client, route: str, body: object) -> Any:
    answer = owner.post(f"/api/reckon/{route}", json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()


def ladder(**more: object) -> dict[str, object]:
    return {
        "kind": "ladder",
        "withdrawn_threads_per_cm": PER_INCH_50,
        "standing_threads_per_cm": PER_INCH_50,
        "withdraw_threads": 18,
        "standing_threads": 96,
        **more,
    }


def knots_of(found: dict[str, Any]) -> dict[str, float]:
    return {work["operation"]: work["quantity"] for work in found["operations"] if work["unit"] == "knot"}


@pytest.mark.parametrize(
    ("threads", "over_mm", "per_cm", "per_inch"),
    [
        pytest.param(20, 10, 20, 50.80, id="linen warp 20 per cm, as L. Happel (whitework linens, web) prints"),
        pytest.param(18, 10, 18, 45.72, id="linen weft 18 per cm, as L. Happel (whitework linens, web) prints"),
        pytest.param(126, 100, 12.6, 32.004, id="evenweave 12.6 per cm, the exact inch"),
        pytest.param(38, 25.4, 14.9606, 38, id="38 to the inch, the exact inch"),
        pytest.param(76, 25.4, 29.9213, 76, id="76 to the inch, the exact inch"),
        pytest.param(20, 6.35, 31.4961, 80, id="Dooley, Textiles, 1910: quarter-inch glass, times four"),
        pytest.param(13, 6.35, 20.4724, 52, id="Encyclopaedia Britannica, 11th ed., vol. 7, Cotton: 13 a quarter"),
    ],
)
def test_a_reading_gives_the_count_per_cm_and_per_inch(
    owner: httpx2.Client, threads: int, over_mm: float, per_cm: float, per_inch: float
) -> None:
    found = asked(owner, "count", {"readings": [{"threads": threads, "over_mm": over_mm}]})
    assert found["threads_per_cm"] == pytest.approx(per_cm, abs=0.00005)
    assert found["threads_per_inch"] == pytest.approx(per_inch, abs=0.0005)
    assert (found["sd_per_cm"], found["cv_percent"], found["places"]) == (0, 0, 1)


def test_readings_give_their_mean_and_spread(owner: httpx2.Client) -> None:
    readings = [{"threads": threads, "over_mm": 50} for threads in (100, 102, 98)]
    found = asked(owner, "count", {"readings": readings})
    assert found == pytest.approx(
        {"threads_per_cm": 20, "threads_per_inch": 50.8, "sd_per_cm": 0.4, "cv_percent": 2, "places": 3}
    )


def test_eighteen_threads_at_fifty_to_the_inch_become_twenty_seven_at_seventy_six(owner: httpx2.Client) -> None:
    # Dillmont, fig. 71 withdraws 16 to 18 threads; widths by hand from the exact inch.
    found = asked(
        owner,
        "convert",
        {"threads": 18, "from_threads_per_cm": PER_INCH_50, "to_threads_per_cm": PER_INCH_76},
    )
    assert found["threads"] == 27
    assert found["width_mm"] == pytest.approx(9.144, abs=0.0005)
    assert found["actual_width_mm"] == pytest.approx(9.024, abs=0.0005)
    assert found["error_mm"] == pytest.approx(-0.120, abs=0.0005)


def test_a_width_is_carried_without_the_count_it_came_from(owner: httpx2.Client) -> None:
    found = asked(owner, "convert", {"width_mm": 9.144, "to_threads_per_cm": PER_INCH_76})
    assert (found["width_mm"], found["threads"]) == (9.144, 27)


@pytest.mark.parametrize(
    ("asking", "bundles", "knots"),
    [
        pytest.param({"standing_threads": 56}, 14, {"ladder_knot": 28}, id="Dillmont fig. 82: 14 bundles of 4"),
        pytest.param(
            {"standing_threads": 42, "bundle_threads": 3},
            14,
            {"ladder_knot": 28},
            id="Dillmont fig. 83: 14 bundles of 3",
        ),
        pytest.param({"standing_threads": 240}, 60, {"ladder_knot": 120}, id="Dillmont fig. 78: 240 threads"),
        pytest.param({"standing_threads": 248}, 62, {"ladder_knot": 124}, id="Dillmont fig. 78: 248 threads"),
        pytest.param({"kind": "hem_band"}, 24, {"hem_knot": 24}, id="Dillmont fig. 55: a single hem-stitch"),
        pytest.param({}, 24, {"ladder_knot": 48}, id="Dillmont fig. 57: a ladder"),
        pytest.param(
            {"kind": "ladder_paired", "pair_rows": 2},
            24,
            {"ladder_knot": 48, "pair_knot": 24},
            id="Dillmont fig. 71: knotted in pairs, two rows",
        ),
        pytest.param(
            {"kind": "serpentine", "standing_threads": 48},
            12,
            {"ladder_knot": 12 + 11 + 2},
            id="Dillmont fig. 58, open: 12, then 11 whole and two halves",
        ),
        pytest.param(
            {"kind": "serpentine", "standing_threads": 48, "closed_round": True},
            12,
            {"ladder_knot": 24},
            id="Dillmont fig. 58, in the round: 12 and 12",
        ),
    ],
)
def test_a_band_comes_to_the_bundles_and_knots_of_the_handbook(
    owner: httpx2.Client, asking: dict[str, object], bundles: int, knots: dict[str, float]
) -> None:
    found = asked(owner, "band", ladder(**asking))
    assert (found["bundles"], found["left_over_threads"], found["choices"]) == (bundles, 0, [])
    assert knots_of(found) == knots


def test_fifty_threads_make_no_pairs_but_are_answered_with_ways_out(owner: httpx2.Client) -> None:
    # Dillmont, fig. 71, bundles of four knotted in pairs.
    found = asked(owner, "band", ladder(kind="ladder_paired", standing_threads=50))
    ways = {choice["way"]: (choice["standing_threads"], choice["bundles"]) for choice in found["choices"]}
    assert (ways["shorter"], ways["longer"]) == ((48, 12), (56, 14))
    assert found["left_over_threads"] == 2
    assert len(found["findings"]) == 1
    assert found["findings"][0].startswith("2 of 50 standing threads are left over after 12 bundles of 4")
    for choice in found["choices"]:
        assert sum(choice["bundle_sizes"]) == choice["standing_threads"]
        assert len(choice["bundle_sizes"]) == choice["bundles"]


def test_a_serpentine_of_five_threads_is_a_finding(owner: httpx2.Client) -> None:  # Dillmont, fig. 58
    found = asked(owner, "band", ladder(kind="serpentine", standing_threads=50, bundle_threads=5))
    assert "5 cannot be halved: gather 4 or 6 threads instead" in found["findings"][0]


@pytest.mark.parametrize(
    ("per_cm", "width_mm", "findings"),
    [
        pytest.param(PER_INCH_50, 9.144, 0, id="Dillmont fig. 71 at 50 to the inch"),
        pytest.param(PER_INCH_76, 6.016, 1, id="Dillmont fig. 71 at 76 to the inch"),
    ],
)
def test_two_rows_of_pair_knots_too_close_are_a_finding(
    owner: httpx2.Client, per_cm: float, width_mm: float, findings: int
) -> None:
    found = asked(owner, "band", ladder(kind="ladder_paired", pair_rows=2, withdrawn_threads_per_cm=per_cm))
    assert found["width_mm"] == pytest.approx(width_mm, abs=0.0005)
    assert len(found["findings"]) == findings


def test_a_band_is_answered_with_exactly_the_stated_fields(owner: httpx2.Client) -> None:
    found = asked(owner, "band", ladder(withdrawn_threads_per_cm=20, standing_threads_per_cm=19))
    assert found == {
        "withdraw_threads": 18,
        "width_mm": 9.0,
        "standing_threads": 96,
        "bundles": 24,
        "left_over_threads": 0,
        "findings": [],
        "choices": [],
        "operations": [
            {"operation": "mark", "unit": "cm", "quantity": 11.1},
            {"operation": "edge_stitch", "unit": "cm", "quantity": 0.9},
            {"operation": "clip", "unit": "thread", "quantity": 18.0},
            {"operation": "withdraw", "unit": "thread", "quantity": 18.0},
            {"operation": "ladder_knot", "unit": "knot", "quantity": 48.0},
        ],
    }


def test_a_band_by_mm_uses_each_systems_own_count(owner: httpx2.Client) -> None:
    body = ladder(withdrawn_threads_per_cm=19, standing_threads_per_cm=20, width_mm=9, length_mm=200)
    del body["withdraw_threads"], body["standing_threads"]
    found = asked(owner, "band", body)
    assert (found["withdraw_threads"], found["standing_threads"], found["bundles"]) == (17, 400, 100)


BAD = [
    pytest.param("count", {"readings": []}, "readings", id="no reading"),
    pytest.param("count", {}, "readings", id="nothing"),
    pytest.param("count", [], "body", id="a list"),
    pytest.param("count", {"readings": [{"threads": 20}]}, "readings.0.over_mm", id="a distance missing"),
    pytest.param("count", {"readings": [{"threads": 20, "over_mm": 0}]}, "readings.0.over_mm", id="over nothing"),
    pytest.param(
        "count", {"readings": [{"threads": -2, "over_mm": 10}]}, "readings.0.threads", id="threads below zero"
    ),
    pytest.param("count", {"readings": [{"threads": 2.5, "over_mm": 10}]}, "readings.0.threads", id="half a thread"),
    pytest.param(
        "count", {"readings": [{"threads": "20", "over_mm": 10}]}, "readings.0.threads", id="text for threads"
    ),
    pytest.param("count", {"readings": [{"threads": True, "over_mm": 10}]}, "readings.0.threads", id="yes for threads"),
    pytest.param("count", {"readings": [{"threads": 5000, "over_mm": 10}]}, "readings.0.threads", id="no such cloth"),
    pytest.param("count", {"readings": [{"threads": 10**30, "over_mm": 10}]}, "readings.0.threads", id="huge"),
    pytest.param(
        "count", {"readings": [{"threads": 20, "over_mm": 10, "place": "hem"}]}, "readings.0.place", id="unknown"
    ),
    pytest.param("count", {"readings": [{"threads": 20, "over_mm": 10}] * 1001}, "readings", id="1001 places"),
    pytest.param("convert", {"to_threads_per_cm": 20}, "threads", id="neither threads nor width"),
    pytest.param("convert", {"threads": 8, "width_mm": 4.0, "to_threads_per_cm": 20}, "threads", id="both"),
    pytest.param(
        "convert", {"threads": 8, "to_threads_per_cm": 20}, "from_threads_per_cm", id="count of origin missing"
    ),
    pytest.param("convert", {"width_mm": 4}, "to_threads_per_cm", id="count of the cloth missing"),
    pytest.param("convert", {"width_mm": 4, "to_threads_per_cm": 0}, "to_threads_per_cm", id="a count of zero"),
    pytest.param("convert", {"width_mm": 1e9, "to_threads_per_cm": 1000}, "width_mm", id="more threads than can be"),
    pytest.param("convert", {"width_mm": 4, "to_threads_per_cm": 20, "inch": 1}, "inch", id="unknown field"),
    pytest.param("band", ladder(width_mm=9.0), "withdraw_threads", id="threads and width"),
    pytest.param("band", ladder(length_mm=90.0), "standing_threads", id="standing threads and length"),
    pytest.param("band", ladder(withdraw_threads=None), "withdraw_threads", id="neither threads nor width of a band"),
    pytest.param("band", ladder(standing_threads=None), "standing_threads", id="neither standing threads nor length"),
    pytest.param("band", ladder(kind="hemstitch"), "kind", id="a kind unknown"),
    pytest.param("band", ladder(kind=None), "kind", id="no kind"),
    pytest.param("band", ladder(stop_lines=3), "stop_lines", id="three stop lines"),
    pytest.param("band", ladder(pair_rows=0), "pair_rows", id="no row of pair knots"),
    pytest.param("band", ladder(bundle_threads=0), "bundle_threads", id="bundles of nothing"),
    pytest.param("band", ladder(closed_round="yes"), "closed_round", id="a word for yes"),
    pytest.param("band", ladder(standing_threads=2_000_000), "standing_threads", id="two million threads"),
    pytest.param("band", ladder(colour="white"), "colour", id="a field unknown"),
]


@pytest.mark.parametrize(("route", "body", "field"), BAD)
def test_bad_input_is_refused_by_the_name_of_its_field(
    owner: httpx2.Client, route: str, body: object, field: str
) -> None:
    answer = owner.post(f"/api/reckon/{route}", json=body)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    told = answer.json()
    assert [fault["field"] for fault in told["errors"]] == [field]
    assert all(fault["detail"] for fault in told["errors"])


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_what_is_no_number_is_refused(owner: httpx2.Client, number: str) -> None:
    answer = owner.post(
        "/api/reckon/convert",
        content=f'{{"width_mm": {number}, "to_threads_per_cm": 20}}',
        headers={"Content-Type": "application/json"},
    )
    assert answer.status_code == 422
    assert [fault["field"] for fault in answer.json()["errors"]] == ["width_mm"]


@pytest.mark.parametrize(
    ("content", "status"),
    [
        pytest.param("{", 422, id="cut off"),
        pytest.param("", 422, id="empty"),
        pytest.param('{"width_mm": ' + "9" * 5000 + "}", 422, id="five thousand digits"),
        pytest.param("[" * 100_000, 422, id="nested without end"),
    ],
)
def test_what_is_no_json_is_refused(owner: httpx2.Client, content: str, status: int) -> None:
    answer = owner.post("/api/reckon/band", content=content, headers={"Content-Type": "application/json"})
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"


def test_more_than_two_megabytes_are_refused(owner: httpx2.Client) -> None:
    assert owner.post("/api/reckon/band", content=" " * TOO_MANY_BYTES).status_code == 413


def test_the_longest_band_is_answered(owner: httpx2.Client) -> None:
    found = asked(owner, "band", ladder(standing_threads=999_999, bundle_threads=1))
    assert (found["bundles"], found["left_over_threads"]) == (999_999, 0)


def test_nobody_signed_in_gets_no_answer(running: Live) -> None:
    with closing(running.visitor()) as visitor:
        answer = visitor.post("/api/reckon/band", content=json.dumps(ladder()))
    assert (answer.status_code, answer.headers["content-type"]) == (401, "application/problem+json")


def test_a_stitcher_may_reckon_too(running: Live) -> None:
    with closing(running.signed_in(STITCHER)) as client:
        assert asked(client, "band", ladder())["bundles"] == 24


def test_the_routes_describe_their_bodies_answers_and_refusals(owner: httpx2.Client) -> None:
    paths = owner.get("/openapi.json").json()["paths"]
    for route in ("count", "convert", "band"):
        described = paths[f"/api/reckon/{route}"]["post"]
        assert set(described["responses"]) == {"200", "401", "403", "413", "422", "503", "507"}
        assert described["requestBody"]["required"] is True
