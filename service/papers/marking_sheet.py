"""The marking sheet as PDF, tagged, its text selectable: A4 or Letter."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from service.languages.spoken import as_drawn, language_now

Paper = Literal["a4", "us-letter"]
PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
SOURCE = Path(__file__).with_suffix(".typ")
TYPED = frozenset({"studio", "name", "section"})
WORDS = (
    *("Hold these against the paper and the cloth", "From the design to this cloth"),
    *("Section", "As drawn up", "On this cloth", "Width", "Bundles"),
    *("Done", "No.", "Line", "From", "Thread", "Worked through", "Hoop"),
    "Nothing is marked on this panel but its outline.",
)
"""What every sheet says."""
LETTERING = "Libertinus Serif"  # the one that comes with typst


@dataclass(frozen=True, slots=True)
class Rule:
    """A bar and rule of threads for one cloth, true to size at `width_mm`."""

    svg: str
    words: str
    width_mm: float


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line to mark, as it is written."""

    number: int
    section: str
    what: str
    edge: str
    thread: str
    at: str
    layers: str
    hoop: str


@dataclass(frozen=True, slots=True)
class SheetPanel:
    """One panel: what it is, its drawing `drawn_mm` wide, its lines, and what else to know."""

    name: str
    told: str
    svg: str
    words: str
    drawn_mm: float
    lines: tuple[SheetLine, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CarriedRow:
    """A section's counts on the cloth it was drawn up for and on this one."""

    section: str
    before: str
    after: str
    width: str
    bundles: str


@dataclass(frozen=True, slots=True)
class MarkingSheet:
    """The whole sheet, in words; `unit` is that of the lengths in the lines."""

    title: str
    studio: str
    told: str
    unit: str
    printing: str
    cautions: tuple[str, ...]
    rules: tuple[Rule, ...]
    panels: tuple[SheetPanel, ...]
    carried: tuple[CarriedRow, ...]


def marking_sheet_pdf(sheet: MarkingSheet, paper: Paper = "a4") -> bytes:
    """Return the sheet as PDF."""
    words = {**asdict(sheet), "words": {word: word for word in WORDS}}
    if not as_drawn():
        from service.languages.saying import all_said

        words = all_said(words, TYPED)
    said = json.dumps({**words, "paper": paper, "language": language_now()}, ensure_ascii=False)
    said = said.replace('font-family=\\"sans-serif\\"', f'font-family=\\"{LETTERING}\\"')
    import typst

    compiled = typst.compile(SOURCE, sys_inputs={"sheet": said}, ignore_system_fonts=True)
    if not isinstance(compiled, bytes):
        raise TypeError("the sheet came out as several files")
    return compiled
