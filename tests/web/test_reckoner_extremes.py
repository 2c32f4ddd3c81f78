"""Extremes asked of the reckoner, as JSON and on its pages: answered or refused, finite, within a second."""

import html
import json
import math
import re
import shutil
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import httpx2
import pytest

from service.records.db import open_database
from tests.serving import OWNER, serving

SECOND = 1.0
HUGE, TINY = 1e308, 1e-300
BIAS = {"finished_width_mm": 6, "fold": "double", "edge_mm": 1000, "cloth_width_mm": 1500}
TUCKS = {"tucks": 16, "depth_mm": 2, "threads_per_cm": 20, "finished_width_mm": 280}
CLOTH = {"blocks": [{"name": "front", "width_mm": 400, "height_mm": 700}], "cloth_width_mm": 900}
THREAD: dict[str, Any] = {"operations": [{"operation": "seam", "quantity": 10}], "skein_mm": 8000}
BAND = {
    "kind": "ladder",
    "withdrawn_threads_per_cm": 20,
    "standing_threads_per_cm": 19,
    "withdraw_threads": 12,
    "standing_threads": 96,
}
FIGURES = [
    *(("bias", BIAS, field) for field in ("finished_width_mm", "edge_mm", "cloth_width_mm", "cloth_height_mm")),
    *(("tucks", TUCKS, field) for field in ("depth_mm", "threads_per_cm", "finished_width_mm", "spacing_mm")),
    *(("cloth", CLOTH, field) for field in ("cloth_width_mm", "selvedge_mm", "shrink_warp_percent")),
    *(("thread", THREAD, field) for field in ("skein_mm", "needleful_mm")),
    *(("band", BAND, field) for field in ("withdrawn_threads_per_cm", "standing_threads_per_cm")),
]
BLOCKS = [{"name": f"{at}", "width_mm": 50 + at % 600, "height_mm": 60 + at % 800} for at in range(10_000)]


@pytest.fixture(scope="module")
def owner(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx2.Client]:
    """The owner, signed in once at a service of these tests' own."""
    path = tmp_path_factory.mktemp("extremes") / "studio.sqlite"
    shutil.copyfile(sqlite_template, path)
    with serving(open_database(f"sqlite:///{path}")) as live, closing(live.signed_in(OWNER)) as client:
        client.post("/api/reckon/tucks", json=TUCKS)
        client.get("/reckoner/tucks")
        yield client


def within_a_second(owner: httpx2.Client, path: str, **asked: Any) -> httpx2.Response:
    """The answer, 200 or 422, timed by the processor so that a busy machine does not fail it."""
    began = time.process_time()
    answer = owner.request("POST" if "json" in asked else "GET", path, **asked)
    assert time.process_time() - began < SECOND
    assert answer.status_code in {200, 422}
    return answer


def all_finite(told: object) -> bool:
    if isinstance(told, dict | list):
        return all(all_finite(one) for one in (told.values() if isinstance(told, dict) else told))
    return not isinstance(told, float) or math.isfinite(told)


@pytest.mark.parametrize("figure", [HUGE, TINY, 1e9], ids=["huge", "tiny", "a million metres"])
@pytest.mark.parametrize(("route", "usual", "field"), FIGURES, ids=[f"{route} {field}" for route, _, field in FIGURES])
def test_a_figure_far_out_is_refused_at_its_field_or_answered_finite(
    owner: httpx2.Client, route: str, usual: dict[str, Any], field: str, figure: float
) -> None:
    answer = within_a_second(owner, f"/api/reckon/{route}", json={**usual, field: figure})
    told = json.loads(answer.text, parse_constant=float)
    assert all_finite(told)
    if answer.status_code == 422:
        assert told["detail"]


@pytest.mark.parametrize(
    ("route", "asked", "field"),
    [
        pytest.param("cloth", {**CLOTH, "blocks": BLOCKS}, "blocks", id="ten thousand blocks"),
        pytest.param(
            "cloth", {**CLOTH, "blocks": [{**BLOCKS[0], "copies": 10_000}]}, "blocks.0.copies", id="as many copies"
        ),
        pytest.param(
            "bias",
            {**BIAS, "finished_width_mm": 0.25, "fold": "single", "cloth_height_mm": 100_000},
            "cloth_height_mm",
            id="a strip of a millimetre from a hundred metres",
        ),
        pytest.param("tucks", {**TUCKS, "tucks": 10_000, "finished_width_mm": 100_000}, "tucks", id="many tucks"),
        pytest.param(
            "thread",
            {**THREAD, "operations": [{"operation": "seam", "quantity": 10}] * 10_000},
            "operations",
            id="much work",
        ),
    ],
)
def test_too_much_at_once_is_refused_at_its_field_within_a_second(
    owner: httpx2.Client, route: str, asked: dict[str, Any], field: str
) -> None:
    answer = within_a_second(owner, f"/api/reckon/{route}", json=asked)
    assert (answer.status_code, field in answer.text) == (422, True), answer.text[:500]


@pytest.mark.parametrize(
    ("name", "asked", "field"),
    [
        ("bias", {"finished": "0.25", "fold": "single", "edge": "1000", "cloth_width": "150", "cloth_height": "10000"}, "cloth_height"),
        ("bias", {"finished": "1e308", "fold": "double", "edge": "100", "cloth_width": "150"}, "finished"),
        ("bias", {"finished": "6", "fold": "double", "edge": "0.00000001", "cloth_width": "150"}, "edge"),
        ("tucks", {"tucks": "1e308", "depth": "2", "count": "20", "count_unit": "cm", "width": "28"}, "tucks"),
        ("tucks", {"tucks": "16", "depth": "1e-300", "count": "20", "count_unit": "cm", "width": "28"}, "depth"),
        ("cloth", {"cloth_width": "90", "name-1": "a", "width-1": "40", "height-1": "70", "copies-1": "10000"}, "copies-1"),
        ("cloth", {"cloth_width": "1e308", "name-1": "a", "width-1": "40", "height-1": "70"}, "cloth_width"),
        ("thread", {"skein": "1e308", "needleful": "45", "operation-1": "seam", "quantity-1": "12"}, "skein"),
    ],
)  # fmt: skip
def test_a_page_answers_an_extreme_with_a_sentence_at_its_field(
    owner: httpx2.Client, name: str, asked: dict[str, str], field: str
) -> None:
    page = within_a_second(owner, f"/reckoner/{name}", params={"join_seam": "6.35", **asked})
    found = re.search(rf'id="e-{field}"><span class="unseen">Error: </span>(.*?)</p>', page.text)
    assert (page.status_code, found is not None) == (422, True)
    assert found is None or html.unescape(found[1]).endswith(".")
    assert f'value="{asked[field]}"' in page.text
    assert "<svg" not in page.text.partition('<main id="main"')[2]
