"""A paper of the house: headings, sentences, facts, ledgers and drawings, as PDF on A4 or Letter, tagged.

Care cards, labels, work slips and files differ in what they say, not in how they look.
"""

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from service.languages.spoken import as_drawn, language_now
from service.papers.marking_sheet import LETTERING
from service.papers.marking_sheet import PAPERS as SIZES
from service.papers.marking_sheet import Paper as Size

SOURCE = Path(__file__).with_suffix(".typ")
TYPED = frozenset({"studio"})

__all__ = ["SIZES", "Drawing", "Ledger", "Paper", "Part", "Size", "paper_pdf"]


@dataclass(frozen=True, slots=True)
class Ledger:
    """Rows under heads; `amounts` are the places of right-aligned columns; `ticked` puts a box before each row."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    amounts: tuple[int, ...] = ()
    ticked: bool = False

    @property
    def shown_heads(self) -> tuple[str | tuple[str, str], ...]:
        """The heads as a page's ledger takes them: a right-aligned one says so."""
        return tuple((head, "amount") if at in self.amounts else head for at, head in enumerate(self.heads))


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing of our own, what it shows in words, and how wide it is printed."""

    svg: str
    words: str
    width_mm: float = 120


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a paper: whatever of these it has, in this order."""

    heading: str = ""
    text: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    drawings: tuple[Drawing, ...] = ()
    ledger: Ledger | None = None
    points: tuple[str, ...] = ()
    boxed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """A whole paper; `foot` stands small at the end."""

    title: str
    studio: str
    told: str
    parts: tuple[Part, ...]
    foot: str = ""


def paper_pdf(paper: Paper, size: Size = "a4") -> bytes:
    """Return the paper as PDF."""
    words = {**asdict(paper), "done": "Done", "nothing": "Nothing."}
    if not as_drawn():
        from service.languages.saying import all_said

        words = all_said(words, TYPED)
    said = json.dumps({**words, "size": size, "language": language_now()}, ensure_ascii=False)
    said = said.replace('font-family=\\"sans-serif\\"', f'font-family=\\"{LETTERING}\\"')
    import typst

    compiled = typst.compile(SOURCE, sys_inputs={"paper": said}, ignore_system_fonts=True)
    if not isinstance(compiled, bytes):
        raise TypeError("the paper came out as several files")
    return compiled
