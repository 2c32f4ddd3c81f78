"""The reckoner's JSON for tucks, bias, cloth, fit and thread, over HTTP, against published and derived figures.

NIMI: National Instructional Media Institute, CITS Dress Making, Trade Practical, p. 209. BALDT: Laura Baldt,
Clothing for Women, 1916, ch. XXII. HOPPER AND TURTON: European Journal of Operational Research 128 (2001) 34-57,
problem C1P1, printed as (height, width), least length 20. WHO: WHO Child Growth Standards, Geneva 2006 and 2007,
with van Buuren 2023, Ann Hum Biol 50:247-257, Table 2. DILLMONT: Encyclopedia of Needlework, ch. 1.
"""

from collections.abc import Iterator
from contextlib import closing
from typing import Any

import httpx2
import pytest

from tests.serving import OWNER, STITCHER, Live

NIMI = {"tucks": 16, "depth_mm": 2, "threads_per_cm": 20, "finished_width_mm": 280, "spacing_mm": 16}
BINDING = {"finished_width_mm": 6.35, "fold": "double", "edge_mm": 1000, "cloth_width_mm": 1500}
FRONT = {"name": "front", "width_mm": 400, "height_mm": 700, "copies": 2}
CLOTH = {"blocks": [FRONT], "cloth_width_mm": 900}
CHILD = {"sex": "girl", "born": "2026-01-01", "on": "2026-10-02"}
LENGTH = {"what": "length", "value": 620, "on": "2026-04-02"}
WORK = {"operations": [{"operation": "pair_knot", "quantity": 12, "width_mm": 25}], "skein_mm": 8000}
USUAL: dict[str, dict[str, Any]] = {"tucks": NIMI, "bias": BINDING, "cloth": CLOTH, "fit": CHILD, "thread": WORK}
C1P1 = [
    *[(2, 12), (7, 12), (8, 6), (3, 6), (3, 5), (5, 5), (3, 12), (3, 7)],
    *[(5, 7), (2, 6), (3, 2), (4, 2), (3, 4), (4, 4), (9, 2), (11, 2)],
]


@pytest.fixture(scope="module")
def owner(running: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(running.signed_in(OWNER)) as client:
        yield client


def asked(owner: httpx2.Client, route: str, **more: object) -> Any:
    answer = owner.post(f"/api/reckon/{route}", json={**USUAL[route], **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_sixteen_tucks_of_2_mm_need_a_block_of_344_mm(owner: httpx2.Client) -> None:  # NIMI
    found = asked(owner, "tucks")
    assert set(found) == {"take_up_mm", "block_width_mm", "lines"}
    assert (found["take_up_mm"], found["block_width_mm"], len(found["lines"])) == (64, 344, 48)
    assert found["lines"][0] == {
        "line": "knotted",
        "tuck": 1,
        "from_centre_mm": pytest.approx(-152),
        "from_centre_threads": -304,
    }


def test_lines_of_an_opening_inside_the_tuck_are_told_by_mm_and_thread(owner: httpx2.Client) -> None:
    found = asked(owner, "tucks", tucks=1, depth_mm=5, spacing_mm=40, band_width_mm=4, opening_inside=True)
    assert found["take_up_mm"] == 18  # 2 x (depth + band width)
    told = [(line["line"], line["from_centre_mm"], line["from_centre_threads"]) for line in found["lines"]]
    assert told == [
        ("band_edge", -9, -18),
        ("knotted", -5, -10),
        ("fold", 0, 0),
        ("knotted", 5, 10),
        ("band_edge", 9, 18),
    ]


def test_a_spacing_left_out_divides_the_width_evenly(owner: httpx2.Client) -> None:
    found = asked(owner, "tucks", tucks=3, depth_mm=5, finished_width_mm=200, spacing_mm=None)
    folds = [line["from_centre_mm"] for line in found["lines"] if line["line"] == "fold"]
    assert folds == [-60, 0, 60]  # 200 / 4 and a take-up of 10 each


def test_bias_is_answered_with_exactly_the_stated_fields(owner: httpx2.Client) -> None:
    found = asked(owner, "bias", cloth_height_mm=400)
    stated = {"cut_width_mm", "strips_mm", "joins", "usable_mm", "enough", "cloth_height_mm", "findings"}
    assert set(found) == stated
    assert (found["cut_width_mm"], found["enough"]) == (pytest.approx(38.1), True)  # six finished widths
    # BALDT: a strip takes √2 times its width along the selvage.
    edge_to_edge = int((1500 - 400) / (38.1 * 2**0.5))
    whole = [length for length in found["strips_mm"] if abs(length - 400 * 2**0.5) < 0.001]
    assert len(whole) == edge_to_edge
    lost = found["joins"] * 2 * 2**0.5 * 6.35
    assert found["usable_mm"] == pytest.approx(sum(found["strips_mm"]) - lost, abs=0.001)


def test_the_least_cloth_is_enough_and_a_little_less_is_not(owner: httpx2.Client) -> None:
    least = asked(owner, "bias")["cloth_height_mm"]
    assert asked(owner, "bias", cloth_height_mm=least)["enough"] is True
    short = asked(owner, "bias", cloth_height_mm=least - 0.01)
    assert (short["enough"], short["cloth_height_mm"]) == (False, least)
    assert "the edge needs 1000 mm" in short["findings"][0]


def test_a_ring_takes_as_many_joins_as_strips(owner: httpx2.Client) -> None:
    found = asked(owner, "bias", closed=True, cloth_height_mm=400)
    assert found["joins"] == len(found["strips_mm"])


def test_hopper_and_turton_c1p1_is_laid_out_at_its_optimum(owner: httpx2.Client) -> None:
    blocks = [{"name": f"b{at}", "width_mm": across, "height_mm": down} for at, (down, across) in enumerate(C1P1)]
    found = asked(owner, "cloth", blocks=blocks, cloth_width_mm=20)
    assert (found["length_mm"], found["buy_mm"], found["waste_percent"]) == (20, 100, 0)
    assert set(found["placements"][0]) == {"name", "x_mm", "y_mm", "width_mm", "height_mm"}


def test_shrinkage_and_selvedge_are_cut_for(owner: httpx2.Client) -> None:
    found = asked(owner, "cloth", selvedge_mm=10, shrink_warp_percent=5, shrink_weft_percent=4)
    assert found["length_mm"] == pytest.approx(700 / 0.95, abs=0.001)
    assert found["buy_mm"] == 800
    assert [round(one["x_mm"], 3) for one in found["placements"]] == [10, round(10 + 400 / 0.96, 3)]


def test_a_girl_measured_at_91_days_is_carried_to_day_274(owner: httpx2.Client) -> None:  # WHO, worked by hand
    found = asked(owner, "fit", measured=[LENGTH])
    assert set(found) == {"age_days", "length_mm", "head_mm", "weight_g", "size", "findings"}
    assert found["age_days"] == 274
    assert found["length_mm"] == {"middle": 720.4, "likely": [697.5, 743.2], "allow": [691.0, 749.7]}
    assert found["size"] == {"middle": 74, "likely_high": 80}
    assert found["findings"][0] == (
        "Likely 70 to 74 cm on the day; cut to allow for 69 to 75 cm. From WHO growth tables and how much babies vary. "
        "This is for cutting cloth, not a health check. Please measure again 3 to 4 weeks before the day."
    )


def test_nothing_measured_gives_the_span_of_all_children(owner: httpx2.Client) -> None:  # WHO, girl, day 274
    found = asked(owner, "fit")
    assert found["length_mm"]["middle"] == pytest.approx(701.5, abs=0.1)
    assert found["length_mm"]["allow"] == [pytest.approx(661.7, abs=0.1), pytest.approx(741.2, abs=0.1)]


def test_a_row_knotted_in_mid_air_takes_twice_its_length(owner: httpx2.Client) -> None:
    # "Needles and Brushes", 1880s, p. 180: about twice the width of the work.
    assert asked(owner, "thread") == {"working_thread_mm": 600, "needlefuls": 1, "skeins": 1}


def test_a_needleful_shorter_than_the_longest_takes_more_of_them(owner: httpx2.Client) -> None:
    work = [{"operation": "edge_stitch", "quantity": 100}]
    long, short = (asked(owner, "thread", operations=work, needleful_mm=each) for each in (450, 300))
    assert short["needlefuls"] > long["needlefuls"]
    assert long["working_thread_mm"] == long["needlefuls"] * 450


def wrong(route: str, field: str, told: str, /, **more: object) -> Any:
    body = {key: value for key, value in {**USUAL[route], **more}.items() if value != "left out"}
    return pytest.param(route, body, field, id=f"{route}, {field}: {told}")


@pytest.mark.parametrize(
    ("route", "body", "field"),
    [
        wrong("tucks", "tucks", "no tuck", tucks=0),
        wrong("tucks", "tucks", "missing", tucks="left out"),
        wrong("tucks", "tucks", "half a tuck", tucks=2.5),
        wrong("tucks", "depth_mm", "text", depth_mm="2"),
        wrong("tucks", "depth_mm", "over half the spacing", depth_mm=8.1),
        wrong("tucks", "spacing_mm", "past the width", spacing_mm=19),
        wrong("tucks", "finished_width_mm", "huge", finished_width_mm=1e30),
        wrong("tucks", "band_width_mm", "below zero", band_width_mm=-1),
        wrong("tucks", "colour", "unknown", colour="white"),
        wrong("bias", "fold", "unknown", fold="french"),
        wrong("bias", "edge_mm", "zero", edge_mm=0),
        wrong("bias", "cloth_width_mm", "below zero", cloth_width_mm=-5),
        wrong("bias", "closed", "a word for yes", closed="yes"),
        wrong("bias", "edge_mm", "longer than any cloth", edge_mm=900_000_000),
        wrong("bias", "cloth_width_mm", "too narrow to be joined", cloth_width_mm=8),
        wrong("bias", "join_seam_mm", "below zero", join_seam_mm=-1),
        wrong(
            "bias",
            "cloth_height_mm",
            "a strip of 6 mm out of 100 m of cloth",
            finished_width_mm=1,
            cloth_height_mm=100_000,
        ),
        wrong("cloth", "blocks", "none", blocks=[]),
        wrong("cloth", "blocks", "ten thousand", blocks=[FRONT] * 10_000),
        wrong("cloth", "blocks", "too many copies", blocks=[{**FRONT, "copies": 300}] * 2),
        wrong("cloth", "blocks.0.width_mm", "wider than the cloth", blocks=[{**FRONT, "width_mm": 901}]),
        wrong("cloth", "blocks.0.height_mm", "zero", blocks=[{**FRONT, "height_mm": 0}]),
        wrong("cloth", "blocks.0.turned", "unknown", blocks=[{**FRONT, "turned": True}]),
        wrong("cloth", "selvedge_mm", "nothing left", selvedge_mm=450),
        wrong("cloth", "shrink_warp_percent", "all of it", shrink_warp_percent=100),
        wrong("fit", "sex", "unknown", sex="unknown"),
        wrong("fit", "on", "before the birth", on="2025-12-31"),
        wrong("fit", "on", "over 730 days", on="2028-01-02"),
        wrong("fit", "born", "no day", born="2026-02-30"),
        wrong("fit", "born", "a number", born=20_260_101),
        wrong("fit", "measured.0.value", "cm for mm", measured=[{**LENGTH, "value": 62}]),
        wrong("fit", "measured.0.on", "after the day", measured=[{**LENGTH, "on": "2026-12-01"}]),
        wrong("fit", "measured.0.what", "a chest", measured=[{**LENGTH, "what": "chest"}]),
        wrong("fit", "gestation_weeks", "31 weeks", gestation_weeks=31),
        wrong("thread", "operations", "none", operations=[]),
        wrong("thread", "operations.0.operation", "unknown", operations=[{"operation": "darn", "quantity": 1}]),
        wrong("thread", "operations.0.quantity", "below zero", operations=[{"operation": "seam", "quantity": -1}]),
        wrong("thread", "needleful_mm", "too long", needleful_mm=2000),
        wrong("thread", "skein_mm", "shorter than a needleful", skein_mm=100),
    ],
)
def test_bad_input_is_refused_by_the_name_of_its_field(
    owner: httpx2.Client, route: str, body: object, field: str
) -> None:
    answer = owner.post(f"/api/reckon/{route}", json=body)
    assert answer.status_code == 422, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    told = answer.json()["errors"]
    assert {fault["field"] for fault in told} == {field}
    assert all(fault["detail"] for fault in told)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_what_is_no_number_is_refused(owner: httpx2.Client, number: str) -> None:
    content = f'{{"tucks": 3, "depth_mm": {number}, "threads_per_cm": 20, "finished_width_mm": 200}}'
    headers = {"Content-Type": "application/json"}
    answer = owner.post("/api/reckon/tucks", content=content, headers=headers)
    assert answer.status_code == 422
    assert [fault["field"] for fault in answer.json()["errors"]] == ["depth_mm"]


@pytest.mark.parametrize("route", USUAL)
def test_nobody_signed_in_gets_no_answer(running: Live, route: str) -> None:
    with closing(running.visitor()) as visitor:
        answer = visitor.post(f"/api/reckon/{route}", json=USUAL[route])
    assert (answer.status_code, answer.headers["content-type"]) == (401, "application/problem+json")


def test_a_stitcher_may_reckon_too(running: Live) -> None:
    with closing(running.signed_in(STITCHER)) as client:
        assert asked(client, "tucks")["block_width_mm"] == 344


@pytest.mark.parametrize("route", USUAL)
def test_the_routes_describe_their_bodies_answers_and_refusals(owner: httpx2.Client, route: str) -> None:
    described = owner.get("/openapi.json").json()["paths"][f"/api/reckon/{route}"]["post"]
    assert set(described["responses"]) == {"200", "401", "403", "413", "422", "503", "507"}
    assert described["requestBody"]["required"] is True
