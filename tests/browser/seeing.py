"""What is looked for on every page that is passed: the accessibility rules, its width, errors in the console."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

# WCAG 2.2 level A and AA; target-size, the one rule of 2.2 itself, is off unless it is asked for.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OPTIONS = {
    "runOnly": {"type": "tag", "values": RULES},
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
NARROW = 320
THIMBLE = 47.5  # 48 px, less what a browser rounds away
TOO_SMALL = """least => [...document.querySelectorAll("main :is(a, button, input, select, summary)")]
    .filter(each => !each.closest("svg, .pick") && each.type !== "hidden" && each.checkVisibility())
    .map(each => [each.getBoundingClientRect(), each])
    .filter(([box]) => box.height < least || box.width < least)
    .map(([box, each]) => `${each.textContent.trim() || each.name} (${box.width} x ${box.height})`)"""


class Watch:
    """One page watched while it is walked through; each address is looked at once."""

    def __init__(self, page: Page, *, with_rules: bool) -> None:
        self.page = page
        self.with_rules = with_rules
        self.seen: set[str] = set()
        self.faults: list[str] = []
        page.on("console", lambda said: self._hear(said.type, said.text))
        page.on("pageerror", lambda error: self.faults.append(f"script: {error}"))

    def _hear(self, kind: str, words: str) -> None:
        # The browser itself tells of every form that comes back with a refusal (422), which is how it should be.
        if kind == "error" and "status of 422" not in words:
            self.faults.append(f"console: {words}")

    def look(self, name: str) -> None:
        """Look at the page as it stands."""
        if name in self.seen:
            return
        self.seen.add(name)
        self._look_at_width(name)
        if self.with_rules:
            for violation in _violations(self.page):
                targets = [node["target"] for node in violation["nodes"]][:3]
                self.faults.append(f"{name}: {violation['id']}: {violation['help']} {targets}")

    def touch(self, name: str) -> None:
        """Look whether all that is touched on the page itself is big enough for a thimbled finger."""
        small = self.page.evaluate(TOO_SMALL, THIMBLE)
        self.faults += [f"{name}: too small to touch: {words}" for words in small]

    def _look_at_width(self, name: str) -> None:
        size = self.page.viewport_size
        assert size is not None
        self.page.set_viewport_size({"width": NARROW, "height": size["height"]})
        wide = self.page.evaluate("document.documentElement.scrollWidth")
        self.page.set_viewport_size(size)
        if wide > NARROW:
            self.faults.append(f"{name}: {wide} px wide on a screen of {NARROW}")


def _violations(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = Axe().run(page, options=OPTIONS).response["violations"]
    return found
