"""SVG written as text: everything escaped, lengths kept short, each picture with its text alternative.

A class names what a line means and drawing.css gives it its colour; the presentation attributes beside it are the
same ink for paper, where no style sheet is read. No style is written into the markup: the pages forbid it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from types import MappingProxyType

from service.reckoning.asked import Wrong
from service.reckoning.shapes import Rect

INDIGO, THREAD, DONE, MADDER, PENCIL = "#1e2747", "#2a588c", "#27396f", "#9a2c22", "#5b584e"
CLOTH, FOLD, GAP, WARP = "#fffdf8", "#ece3cf", "#f1e9d8", "#ddd3bd"

Figure = float | int | str
Attributes = Mapping[str, Figure | None]


# What each class looks like where drawing.css is not read. Lines are as wide as the picture says, or as they say.
INKS: Mapping[str, Attributes] = MappingProxyType(
    {
        "d-piece": {"fill": CLOTH, "stroke": INDIGO, "stroke-linejoin": "round"},
        "d-cloth": {"fill": CLOTH},
        "d-hem": {"fill": FOLD},
        "d-gap": {"fill": GAP},
        "d-weave": {"stroke": WARP},
        "d-block": {"stroke": PENCIL},
        "d-edge": {"stroke": THREAD},
        "d-thread": {"stroke": THREAD},
        "d-done": {"stroke": DONE},
        "d-knot": {"stroke": DONE, "stroke-linecap": "round"},
        "d-bind": {"stroke": THREAD},
        "d-bare": {"stroke": CLOTH},
        "d-bound": {"stroke": DONE},
        "d-open": {"fill": CLOTH, "stroke": THREAD},
        "d-fill": {"fill": DONE},
        "d-pencil": {"stroke": PENCIL},
        "d-point": {"fill": PENCIL},
        "d-here": {"stroke": MADDER, "stroke-linecap": "round", "stroke-linejoin": "round"},
        "d-here-fill": {"fill": MADDER},
        "d-needle": {"fill": CLOTH, "stroke": MADDER, "stroke-linejoin": "round"},
        "d-working": {"stroke": INDIGO, "stroke-linecap": "round", "stroke-linejoin": "round"},
        "d-behind": {"stroke": INDIGO},
        "d-number": {"fill": INDIGO},
        "d-number-text": {"fill": CLOTH},
        "d-text": {"fill": INDIGO},
        "d-quiet": {"fill": PENCIL},
        "d-here-text": {"fill": MADDER},
        "d-hit": {},
    }
)

_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9-]{0,60}")


@dataclass(frozen=True, slots=True)
class Picture:
    """What stands round a drawing: its view in its own units, its words, and how its ids begin.

    `unit` is about one px on a phone in the view's units: how wide its lines are; `letters` is the size of its
    lettering. `has_links` says that it can be walked through, so that it must not be announced as one image.
    """

    view: Rect
    title: str
    text: str
    prefix: str
    kind: str
    unit: float = 1
    letters: float = 12
    has_links: bool = False

    def __post_init__(self) -> None:
        if not _PREFIX.fullmatch(self.prefix):
            raise Wrong("prefix", f"must be letters, digits and hyphens, beginning with a letter, not {self.prefix!r}")


def short(value: float, places: int = 1) -> str:
    """Return a number without needless zeros.

    >>> short(12.04), short(-0.04), short(0.25, 2)
    ('12', '0', '.25')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    if text in {"-0", "", "0"}:
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def said(value: float) -> str:
    """Return a number as it is read: to one decimal, without needless zeros.

    >>> said(0.4), said(340.0), said(124.25)
    ('0.4', '340', '124.2')
    """
    return f"{value:.1f}".removesuffix(".0")


def tag(name: str, content: str = "", attributes: Attributes | None = None) -> str:
    """Return an element whose `content` is markup already; attributes that are None are left out.

    >>> tag("line", attributes={"x1": 2.004, "class": "a<b", "y1": None})
    '<line x1="2" class="a&lt;b"/>'
    """
    written = "".join(f' {key}="{_value(value)}"' for key, value in (attributes or {}).items() if value is not None)
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def mark(name: str, ink: str, content: str = "", /, **attributes: Figure | None) -> str:
    """Return an element drawn in one ink: its class, that ink's presentation attributes, and its own.

    Underlines in names become hyphens.

    >>> mark("circle", "d-fill", r=2)
    '<circle class="d-fill" fill="#27396f" r="2"/>'
    """
    own = {key.replace("_", "-"): value for key, value in attributes.items()}
    return tag(name, content, {"class": ink, **INKS[ink], **own})


def path(ink: str, d: str, /, **attributes: Figure | None) -> str:
    """Return a path in one ink, or nothing when there is nothing to draw."""
    return mark("path", ink, d=d, **attributes) if d else ""


def box(ink: str, rect: Rect) -> str:
    """Return an upright rectangle in one ink."""
    return mark("rect", ink, x=rect.left, y=rect.top, width=rect.width, height=rect.height)


def lettering(ink: str, at: tuple[float, float], words: str, /, **attributes: Figure | None) -> str:
    """Return a line of text at a point, its words escaped."""
    return mark("text", ink, escape(words), **{"x": at[0], "y": at[1], **attributes})


def group(content: str, attributes: Attributes | None = None) -> str:
    """Return a group, or nothing when it is empty."""
    return tag("g", content, attributes) if content else ""


def titled(words: str) -> str:
    """Return the title of the element it stands in."""
    return f"<title>{escape(words)}</title>"


def drawn(picture: Picture, body: str) -> str:
    """Return the whole picture with its title and description."""
    title_id, text_id = f"{picture.prefix}-title", f"{picture.prefix}-text"
    view = picture.view
    words = tag("title", escape(picture.title), {"id": title_id}) + tag("desc", escape(picture.text), {"id": text_id})
    box = " ".join(short(side) for side in (view.left, view.top, view.width, view.height))
    head: Attributes = {
        "xmlns": "http://www.w3.org/2000/svg",
        "class": f"d-{picture.kind}",
        "viewBox": box,
        "role": "group" if picture.has_links else "img",
        "aria-labelledby": title_id,
        "aria-describedby": text_id,
        "font-family": "sans-serif",
        "font-size": picture.letters,
        "fill": "none",
        "stroke-width": picture.unit,
    }
    return tag("svg", words + body, head)


def _value(value: Figure) -> str:
    return escape(value) if isinstance(value, str) else short(value, 2)
