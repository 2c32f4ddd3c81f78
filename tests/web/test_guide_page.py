"""The guide over HTTP: its pictures are there and light, and each worked example is what a pencil comes to.

The sums here are written down anew with nothing but arithmetic: not one of them asks the reckoner.
"""

import html
import math
import re
from contextlib import closing
from io import BytesIO
from pathlib import Path
from statistics import NormalDist

import pytest
from PIL import Image

from service.web.render import STATIC
from tests.browser.one_commission import STAGES
from tests.serving import OWNER, STITCHER, Live

MOST_BYTES_OF_PICTURES = 600_000
ROOT_2 = math.sqrt(2)


def plain(value: float, places: int = 2) -> str:
    """A figure as the page writes it: that many decimals at most, no idle zeros."""
    return f"{value:,.{places}f}".rstrip("0").rstrip(".") if places else f"{value:,.0f}"


def _page(live: Live, path: str, email: str = STITCHER) -> str:
    with closing(live.signed_in(email)) as reader:
        answer = reader.get(path)
    assert answer.status_code == 200
    return answer.text


def _figures(page: str, name: str) -> list[str]:
    """What stands in bold in one example: the answers of the reckoner."""
    (section,) = re.findall(rf'<section id="{name}" class="worked">(.*?)</section>', page, re.DOTALL)
    return [html.unescape(each) for each in re.findall(r"<strong>(.*?)</strong>", section)]


def _size(file: Path) -> tuple[int, int]:
    with Image.open(file) as picture:
        return picture.size


def _bundle_ends(threads: int, bundles: int) -> list[int]:
    """The odd threads one by one, as evenly as they go: the middle of each odd thread's share takes it."""
    each, odd = threads // bundles, threads % bundles
    sizes = [each] * bundles
    for thread in range(odd):
        sizes[math.ceil(bundles * (2 * thread + 1) / (2 * odd)) - 1] += 1
    return sizes


def _by_hand() -> dict[str, list[str]]:
    count = (101 / 5 + 99 / 5 + 103 / 5) / 3
    thread_mm = 48 * (3 * 2 + 2)
    needlefuls = math.ceil(thread_mm / (450 - 80))
    pairs_mm = 12 * 4 * 2
    strip = 2 * (6 + 2 * 6)
    step = strip * ROOT_2
    whole = math.floor((600 - 300) / step)
    short = [300 - at * step for at in range(1, 20) if (300 - at * step) * ROOT_2 > 2 * ROOT_2 * 6.35]
    left = 600 - (whole + 1) * step
    far = [left - at * step for at in range(20) if (left - at * step) * ROOT_2 > 2 * ROOT_2 * 6.35]
    strips = whole + len(short) + len(far)
    run_mm = (whole * 300 + sum(short) + sum(far)) * ROOT_2 - (strips - 1) * 2 * ROOT_2 * 6.35
    laps = math.floor((260 - 12) / (25 * ROOT_2))
    lap_mm = ROOT_2 * (260 - 18)
    sizes = ", ".join(str(each) for each in _bundle_ends(50, 12))
    return {
        "count": [f"{plain(count)} threads to the cm", f"{plain(count * 2.54)} to the inch"],
        "band": [
            *(f"{9 * 20 // 10} threads", f"{160 * 19 // 10} threads", f"{304 // 4} bundles"),
            *(f"{2 * 76} knots", f"{2 * 18} clips", f"{plain(2 * 0.9)} cm", f"{plain(2 * 16 + 1.8)} cm"),
        ],
        "carry": ["22", f"{plain(22 * 10 / 24 - 9)} mm", f"{plain(18 * 10 / 24)} mm"],
        "left-over": ["2 threads are left over", "48 threads", "52 threads", "12 bundles", "48", "56"],
        "rows": [f"{plain(18 * 10 / 20 - 6)} mm", f"{plain(18 * 10 / 30 - 6)} mm"],
        "tucks": ["30 mm", "230 mm", "10 threads", f"{(30 + 10) * 20 // 10} threads", f"{2 * (5 + 4)} mm"],
        "growth": ["3 tucks", "17 threads", "17, 34 and 51 mm"],
        "bias": ["36 mm", f"{whole} strips", f"{plain(300 * ROOT_2, 1)} mm", f"{plain(run_mm, 1)} mm"],
        "tube": [f"{laps} laps", f"{plain(lap_mm, 1)} mm", f"{plain(laps * lap_mm, 1)} mm"],
        "cloth": [f"{plain(720 / 0.96)} mm", f"{plain(392 / 0.98)} mm", "80 cm"],
        "thread": [
            *(f"{thread_mm} mm", f"{pairs_mm} mm", f"{needlefuls + 1} lengths"),
            f"{plain(needlefuls * 450 + pairs_mm)} mm",
        ],
        "yarn": [plain(28 * math.sqrt(20) / 10)],
        "price": [
            *("448", "32", "67.5", "633.5", plain(math.floor(63350 * 0.15 + 0.5) / 100), "730"),
            f"{plain(292)}, {plain(219)} and {plain(219)}",
        ],
        "parts": ["50.01, 25 and 25"],
    } | {"spread": [sizes]}


def _for_a_day_by_hand() -> dict[str, list[str]]:
    z = (620 / 597.773 - 1) / 0.0352
    r = 0.740415  # between the ages by van Buuren's table; the fit's own tests fill it in
    then, spread = r * z, 1.1 * math.sqrt(1 - r * r)
    low, middle, high = (701.463 * (1 + 0.03444 * (then + at * spread)) for at in (-1.2816, 0, 1.2816))
    wide = NormalDist(0, 0.64849)  # the spread of a sum of guesses, as Fenton's rule gives it for one line
    work = 100 * 22 / 60
    low_minutes, high_minutes = (work * math.exp(wide.inv_cdf(at)) + 4 for at in (0.1, 0.9))
    known, other = 0.3**2 + 0.35**2 + 0.25**2 + 0.15**2, 0.12**2 + 0.2**2
    pace = 22 * math.exp(known / (known + other) * math.log((64 - 4) * 60 / 150 / 22))
    chance = NormalDist().cdf(math.log(12 / 10) / (math.log(12.5 / 10) / 1.2816))
    return {
        "fit": [
            *(f"{plain(middle, 1)} mm", f"{plain(low, 1)} to {plain(high, 1)} mm"),
            str(50 + 6 * math.ceil((round(middle) / 10 - 50) / 6)),
        ],
        "hours": [
            f"{plain(work + 4, 1)} minutes",
            f"{plain(work * math.exp(wide.inv_cdf(0.8)) + 4, 1)} minutes",
            plain(low_minutes, 1),
            f"{plain(high_minutes, 1)} minutes",
        ],
        "pace": [f"{plain(pace, 1)} seconds"],
        "chance": [plain(chance, 4)],
    }


def test_every_answer_of_the_arithmetic_is_what_a_pencil_comes_to(live: Live) -> None:
    page = _page(live, "/guide/arithmetic")
    by_hand = _by_hand() | _for_a_day_by_hand()
    (sizes,) = by_hand.pop("spread")
    assert f"bundles</strong> of {sizes}." in page
    assert {name: _figures(page, name) for name in by_hand} == by_hand
    assert set(re.findall(r'<section id="([\w-]+)"', page)) == by_hand.keys()


def test_the_sums_beside_the_answers_are_right(live: Live) -> None:
    """Plain sums of one step, wherever a line says "a × b = c" and the like."""
    text = html.unescape(re.sub(r"<[^>]+>", "", _page(live, "/guide/arithmetic")))
    number = r"(\d[\d,]*(?:\.\d+)?)"
    works = {"×": lambda a, b: a * b, "÷": lambda a, b: a / b, "+": lambda a, b: a + b, "−": lambda a, b: a - b}
    before = r"(?<![\d.,])(?<![×÷+−(] )(?<!√)(?<!power of )"
    found = re.findall(rf"{before}{number} ([×÷+−]) {number}(?: ([×÷]) {number})? = {number}(?! [×÷+−])", text)
    assert len(found) > 15
    wrong = []
    for first, work, second, then, third, said in found:
        a, b, told = (float(each.replace(",", "")) for each in (first, second, said))
        sum_ = works[work](a, b)
        if then:
            c = float(third.replace(",", ""))
            sum_ = works[then](sum_, c) if work in "×÷" else works[work](a, works[then](b, c))
        if told != pytest.approx(sum_, rel=2e-3, abs=6e-3):
            wrong.append((first, work, second, then, third, said))
    assert wrong == []


def test_every_figure_has_its_source_or_says_that_it_has_none(live: Live) -> None:
    page = _page(live, "/guide/arithmetic")
    sections = re.findall(r'<section id="([\w-]+)" class="worked">(.*?)</section>', page, re.DOTALL)
    named = re.compile(
        r"\b1[89]\d\d\b|\b20[0-2]\d\b|ISO|Dillmont|Baldt|no source|from memory|Arithmetic|handout|own rule|Bates"
    )
    assert [name for name, words in sections if not named.search(words.rpartition('class="quiet"')[2])] == []


def test_the_walk_shows_a_picture_at_each_stage_and_they_are_light(live: Live) -> None:
    page = _page(live, "/guide/commission")
    shown = re.findall(r'<img src="/static/walk-([\w-]+)\.webp\?\w+" width="(\d+)" height="(\d+)" loading="lazy"', page)
    assert [name for name, _, _ in shown] == list(STAGES)
    files = [STATIC / f"walk-{name}.webp" for name in STAGES]
    assert sorted(STATIC.glob("walk-*")) == sorted(files)
    assert sum(file.stat().st_size for file in files) < MOST_BYTES_OF_PICTURES
    assert {_size(file) for file in files} == {(int(width), int(height)) for _, width, height in shown} == {(585, 1050)}


def test_a_picture_is_served_for_good_and_inert(live: Live) -> None:
    (source,) = re.findall(r'<img src="(/static/walk-talk[^"]+)"', _page(live, "/guide/commission"))
    with closing(live.visitor()) as visitor:
        answer = visitor.get(source)
    assert answer.headers["content-type"] == "image/webp"
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    with Image.open(BytesIO(answer.content)) as picture:
        assert picture.format == "WEBP"


@pytest.mark.parametrize(
    "path",
    ["/", "/keys", "/guide", "/reckoner", "/reckoner/band", "/reckoner/convert", "/reckoner/count", "/reckoner/hours"]
    + [f"/reckoner/{name}" for name in ("tucks", "growth", "bias", "cloth", "fit", "thread", "yarn")],
)
def test_the_guide_is_found_where_it_is_looked_for(live: Live, path: str) -> None:
    targets = set(re.findall(r'<section id="([\w-]+)"', _page(live, "/guide/arithmetic")))
    links = re.findall(r'href="(/guide[^"]*)"', _page(live, path, OWNER))
    assert "/guide" in links
    assert {link.partition("#")[2] for link in links if "#" in link} <= targets
    wanted = {"/": "/guide/commission", "/keys": "/guide"}.get(path, "/guide/arithmetic")
    assert any(link.partition("#")[0] == wanted for link in links)
