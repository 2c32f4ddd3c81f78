"""Figures of the bench: each with the one to reach where there is one, as a table and as JSON."""

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured figure; `reach` is the one to reach, at least or at most."""

    area: str
    what: str
    value: float
    unit: str
    reach: float | None = None
    by: Literal["at least", "at most"] = "at most"

    @property
    def is_missed(self) -> bool:
        """Whether it does not reach its mark.

        >>> Figure("pages", "work table", 0.4, "of the limit", 1 / 3, "at least").is_missed
        False
        """
        if self.reach is None:
            return False
        return self.value > self.reach if self.by == "at most" else self.value < self.reach

    def __str__(self) -> str:
        """One line of the table."""
        said = "" if self.reach is None else f"{self.by} {_short(self.reach)}"
        verdict = "" if self.reach is None else "MISS" if self.is_missed else "pass"
        return f"| {self.area} | {self.what} | {_short(self.value)} {self.unit} | {said} | {verdict} |"


def _short(value: float) -> str:
    """A figure with no more digits than it is worth.

    >>> _short(0.3333), _short(12.34), _short(1234.5)
    ('0.33', '12.3', '1,234')
    """
    return f"{value:.2f}" if abs(value) < 10 else f"{value:.1f}" if abs(value) < 100 else f"{value:,.0f}"


def table(figures: Iterable[Figure]) -> str:
    """All figures as one table in Markdown."""
    return "\n".join(["| area | what | measured | to reach | |", "|---|---|---|---|---|", *map(str, figures)])


def put_between(marker: str, words: str, file: Path) -> None:
    """Put words between a file's two markers, in the place of what stood there."""
    opening, closing = f"<!-- {marker} -->\n", f"<!-- /{marker} -->"
    before, _, rest = file.read_text(encoding="utf-8").partition(opening)
    _, end, after = rest.partition(closing)
    if not end:
        raise ValueError(f"{file} has no place for the figures of the {marker}")
    file.write_text(f"{before}{opening}{words}\n{end}{after}", encoding="utf-8")


def write_json(figures: Iterable[Figure], about: dict[str, object], file: Path) -> None:
    """Write all figures, and what is known of machine and day, into one file."""
    told = [{**asdict(each), "missed": each.is_missed} for each in figures]
    file.write_text(json.dumps({**about, "figures": told}, indent=1), encoding="utf-8")
