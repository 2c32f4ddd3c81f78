"""The frame of every page: ways, titles, what a page may hold, contrast, weight."""

import json
import re
from html.parser import HTMLParser
from types import SimpleNamespace
from typing import Any

import pytest

from service.web.render import STATIC, TEMPLATES, environment, own_bytes, render

OWNER = SimpleNamespace(name="Ottilie", is_owner=True, email="owner@demo.example")
STITCHER = SimpleNamespace(name="Wren", is_owner=False, email="stitcher@demo.example")
STUDIO = SimpleNamespace(name="Thrush & Farrow", length_unit="cm", count_unit="cm")


def frame(**context: Any) -> str:
    known = {"person": OWNER, "studio": STUDIO, "area": "", "path": "/", "notice": ""}
    page = environment().from_string('{% extends "base.html" %}{% block title %}Cloth{% endblock %}')
    return page.render(known | context)


def title(page: str) -> str:
    (found,) = re.findall(r"<title>(.*)</title>", page)
    return str(found)


def ways(page: str) -> list[str]:
    (nav,) = re.findall(r"<nav.*?</nav>", page, re.DOTALL)
    return re.findall(r'href="([^"]+)"', nav)


def test_owner_sees_every_page() -> None:
    assert ways(frame()) == [
        "/", "/diary", "/reckoner", "/commissions", "/quotes", "/clients", "/designs", "/cloth", "/supplies", "/stitchers", "/books", "/settings",
        "/account",
    ]  # fmt: skip


def test_stitcher_sees_the_work_and_her_own_page_only() -> None:
    assert ways(frame(person=STITCHER)) == [
        "/",
        "/diary",
        "/reckoner",
        "/designs",
        "/cloth",
        "/stitchers/me",
        "/account",
    ]


@pytest.mark.parametrize(
    ("path", "area", "under"),
    [
        ("/quotes/3", "commissions", "/quotes"),
        ("/commissions/3/fit", "commissions", "/commissions"),
        ("/garments/3", "table", "/"),
        ("/stitchers/2", "people", "/stitchers"),
        ("/diary/2026-12-01", "diary", "/diary"),
    ],
)
def test_the_way_a_page_stands_under_is_marked_and_no_other(path: str, area: str, under: str) -> None:
    page = frame(path=path, area=area)
    assert re.findall(r'href="([^"]+)" aria-current="true"', page) == [under]


def test_nobody_signed_in_sees_no_ways_and_no_sign_out() -> None:
    page = frame(person=None, studio=None)
    assert "<nav" not in page
    assert "/sign-out" not in page
    assert title(page) == "Cloth"


@pytest.mark.parametrize(
    ("area", "path", "marked"),
    [
        ("table", "/", [("/", "page")]),
        ("cloth", "/cloth", [("/cloth", "page")]),
        ("cloth", "/cloth/7", [("/cloth", "true")]),
        ("people", "/clients/3", [("/clients", "true")]),
        ("people", "/stitchers/3", [("/stitchers", "true")]),
        ("", "/nowhere", []),
    ],
)
def test_the_way_taken_is_marked(area: str, path: str, marked: list[tuple[str, str]]) -> None:
    assert re.findall(r'href="([^"]+)" aria-current="(\w+)"', frame(area=area, path=path)) == marked


def test_title_names_page_and_studio() -> None:
    assert title(frame()) == "Cloth – Thrush &amp; Farrow"


@pytest.mark.parametrize(
    "context",
    [{"wrong": True}, {"form": SimpleNamespace(errors={"width": "Give a number."})}],
    ids=["the page says so", "the form is at fault"],
)
def test_title_of_a_page_with_a_fault_begins_with_it(context: dict[str, Any]) -> None:
    assert title(frame(**context)) == "Error: Cloth – Thrush &amp; Farrow"


def test_title_of_a_form_without_fault_is_plain() -> None:
    assert title(frame(form=SimpleNamespace(errors={}))) == "Cloth – Thrush &amp; Farrow"


@pytest.mark.parametrize("notice", ["", "42 knots <counted>."])
def test_live_region_is_there_when_the_page_loads(notice: str) -> None:
    shown = notice.replace("<", "&lt;").replace(">", "&gt;")
    assert f'<p id="said" role="status" aria-live="polite">{shown}</p>' in frame(notice=notice)


def test_htmx_swaps_a_refused_form_and_keeps_nothing_behind() -> None:
    (config,) = re.findall(r"name=\"htmx-config\" content='([^']+)'", frame())
    settings = json.loads(config)
    handled = {rule["code"]: rule["swap"] for rule in settings.pop("responseHandling")}
    assert handled == {"204": False, "[23]..": True, "422": True, "[45]..": False}
    assert settings == {
        "historyRestoreAsHxRequest": False,
        "historyCacheSize": 0,
        "includeIndicatorStyles": False,
        "allowEval": False,
        "allowScriptTags": False,
        "selfRequestsOnly": True,
        "timeout": 20000,
    }


@pytest.mark.parametrize("person", [None, OWNER], ids=["nobody", "the owner"])
def test_fault_says_what_and_what_next(person: object) -> None:
    known = {"person": person, "studio": None, "area": "", "path": "/x", "notice": "", "wrong": True}
    told = {"status": 404, "sentence": "There is no such page", "next_step": "Go back."}
    page = render("fault.html", known | told)
    assert title(page) == "Error: There is no such page"
    assert "<h1>There is no such page</h1>" in page
    assert "<p>Go back.</p>" in page
    assert '<a class="act" href="/">Go to the work table</a>' in page


def test_fault_of_somebody_unknown_offers_to_sign_in() -> None:
    known = {"person": None, "studio": None, "area": "", "path": "/x", "notice": "", "wrong": True}
    page = render("fault.html", known | {"status": 401, "sentence": "Sign in first", "next_step": "Sign in."})
    assert 'href="/login"' in page


FILTER = r"(^|,)\s*[\w:-]+\["  # an event with a condition, as in `click[…]`, which would have to be evaluated


class Strict(HTMLParser):
    """Notes everything that the content security policy would stop."""

    def __init__(self) -> None:
        super().__init__()
        self.stopped: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            scripted = name.startswith(("on", "hx-on")) or name == "style"
            filtered = name == "hx-trigger" and re.search(FILTER, value or "") is not None
            evaluated = (value or "").lstrip().startswith(("javascript:", "js:"))
            if scripted or filtered or evaluated:
                self.stopped.append(f"{tag} {name}")
        if tag == "style" or (tag == "script" and "src" not in dict(attrs)):
            self.stopped.append(tag)


@pytest.mark.parametrize(
    "template", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: str(path.relative_to(TEMPLATES))
)
def test_template_holds_no_inline_style_or_script(template: Any) -> None:
    strict = Strict()
    strict.feed(template.read_text(encoding="utf-8"))
    assert strict.stopped == []


@pytest.mark.parametrize(
    "template", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: str(path.relative_to(TEMPLATES))
)
def test_template_can_be_read(template: Any) -> None:
    assert environment().get_template(str(template.relative_to(TEMPLATES))).blocks is not None


def palette(theme: str) -> dict[str, str]:
    css = (STATIC / "stopline.css").read_text(encoding="utf-8")
    light, dark = re.findall(r":root \{(.*?)\}", css, re.DOTALL)[:2]
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", light if theme == "light" else dark))


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour: WCAG 2.2, definition of "relative luminance"."""
    parts = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio: WCAG 2.2, definition of "contrast ratio"."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_reckoned_as_published() -> None:
    # WCAG 2.2: white on black is the greatest ratio, 21:1; equal colours 1:1.
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#2a588c", "#2a588c") == 1


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "linen"])
@pytest.mark.parametrize("colour", ["ink", "thread", "done", "madder", "quiet"])
def test_every_colour_of_text_stands_out_as_wcag_1_4_3_asks(theme: str, ground: str, colour: str) -> None:
    colours = palette(theme)
    assert contrast(colours[colour], colours[ground]) >= 4.5


def test_style_and_script_stay_light() -> None:
    assert sum(len(own_bytes(name)) for name in ("looks.css", "print.css")) <= 30_000
    assert (STATIC / "stopline.js").stat().st_size <= 4_000
