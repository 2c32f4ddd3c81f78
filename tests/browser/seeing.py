"""What is looked for on every page that is passed: the accessibility rules, its width, errors in the console."""

from typing import Any

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page, ViewportSize

# WCAG 2.2 level A and AA; target-size, the one rule of 2.2 itself, is off unless it is asked for.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RULES = {
    "runOnly": {"type": "tag", "values": TAGS},
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
# The rules that another light or another width may break: the others read the same words and names again.
OF_LOOKS = {
    "runOnly": {
        "type": "rule",
        "values": ["color-contrast", "link-in-text-block", "target-size", "scrollable-region-focusable"],
    },
    "resultTypes": ["violations"],
}
RUN = "async ([where, rules]) => (await axe.run(where ?? document, rules)).violations"
NARROW, SETTLES = 320, 10
PHONE: ViewportSize = {"width": NARROW, "height": 844}
LAPTOP: ViewportSize = {"width": 1280, "height": 900}
THIMBLE = 47.5  # 48 px, less what a browser rounds away
TOO_SMALL = """least => [...document.querySelectorAll("main :is(a, button, input, select, summary)")]
    .filter(each => !each.closest("svg, .pick") && each.type !== "hidden" && each.checkVisibility())
    .map(each => [each.getBoundingClientRect(), each])
    .filter(([box]) => box.height < least || box.width < least)
    .map(([box, each]) => `${each.textContent.trim() || each.name} (${box.width} x ${box.height})`)"""
# Of a long list the first lines stand for the others, and a drawing has its words: the rules read nothing else of it.
THIN = """() => {
    for (const each of document.querySelectorAll("svg :is(path, circle, rect, line, polygon, polyline, ellipse, use)"))
        each.remove();
    for (const list of document.querySelectorAll("tbody, ul, ol, svg, svg g"))
        for (const each of [...list.children].slice(4)) each.remove();
}"""


class Watch:
    """One page watched while it is walked through; each address is looked at once."""

    def __init__(self, page: Page, *, with_rules: bool) -> None:
        self.page = page
        self.with_rules = with_rules
        self.seen: set[str] = set()
        self.faults: list[str] = []
        if with_rules:
            page.add_init_script(AXE_SCRIPT)
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
            self._hold(name, RULES)

    def look_both_ways(self, name: str) -> None:
        """Look at a page that was opened on a narrow phone in the light, then on a laptop in the dark, and leave it so.

        What the rules do not read is taken away from it first. The heading is the same on all: in the dark it is read once.
        """
        self.seen.add(name)
        self._hold_width(name)
        self.page.evaluate(THIN)
        self._hold(f"{name}, phone, light", RULES)
        self.page.emulate_media(color_scheme="dark")
        self.page.set_viewport_size(LAPTOP)
        self._hold(f"{name}, laptop, dark", OF_LOOKS, {"exclude": [["header"]]} if len(self.seen) > 1 else None)

    def look_at_refusal(self, name: str) -> None:
        """Look at what that page answers when it refuses: all of it on the laptop in the dark, then its faults in the light."""
        self.page.evaluate(THIN)
        self._hold(f"{name} refused, laptop, dark", RULES)
        self.turn_back()
        self._hold_width(f"{name} refused")
        self._hold(f"{name} refused, phone, light", OF_LOOKS, {"include": [[".error-summary"], ["form:has(.error)"]]})

    def turn_back(self) -> None:
        """Take the narrow phone in the light again."""
        self.page.set_viewport_size(PHONE)
        self.page.emulate_media(color_scheme="light")

    def touch(self, name: str) -> None:
        """Look whether all that is touched on the page itself is big enough for a thimbled finger."""
        small = self.page.evaluate(TOO_SMALL, THIMBLE)
        self.faults += [f"{name}: too small to touch: {words}" for words in small]

    def _hold(self, name: str, rules: dict[str, Any], where: dict[str, Any] | None = None) -> None:
        for violation in self.page.evaluate(RUN, [where, rules]):
            targets = [node["target"] for node in violation["nodes"]][:3]
            self.faults.append(f"{name}: {violation['id']}: {violation['help']} {targets}")

    def _look_at_width(self, name: str) -> None:
        size = self.page.viewport_size
        assert size is not None
        self.page.set_viewport_size({"width": NARROW, "height": size["height"]})
        self._hold_width(name)
        self.page.set_viewport_size(size)

    def _hold_width(self, name: str) -> None:
        """Hold the page to the narrow screen, once it has laid itself out for it."""
        for _ in range(SETTLES):
            wide = self.page.evaluate("document.documentElement.scrollWidth")
            if wide <= NARROW:
                return
            self.page.wait_for_timeout(50)
        self.faults.append(f"{name}: {wide} px wide on a screen of {NARROW}")
