"""No file of service/ is so long that it cannot be read in one sitting, no function longer than a screen, no style unused."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
FILES = sorted(path.relative_to(TOP) for path in (TOP / "service").rglob("*.py"))
SENT = sorted(path.relative_to(TOP) for kind in ("css", "js") for path in (TOP / "service/static").glob(f"*.{kind}"))
LONGEST_FILE = 400
LONGEST_FUNCTION = 60


def long_functions(source: str) -> Iterator[str]:
    """The name and length of every function longer than may be."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or node.lineno) - node.lineno + 1
            if lines > LONGEST_FUNCTION:
                yield f"{node.name}: {lines} lines"


@pytest.mark.parametrize("path", FILES, ids=str)
def test_a_file_and_its_functions_are_short_enough(path: Path) -> None:
    source = (TOP / path).read_text(encoding="utf-8")
    assert len(source.splitlines()) <= LONGEST_FILE
    assert list(long_functions(source)) == []


@pytest.mark.parametrize("path", SENT, ids=str)
def test_a_file_that_is_sent_is_short_enough(path: Path) -> None:
    assert len((TOP / path).read_text(encoding="utf-8").splitlines()) <= LONGEST_FILE


def names_styled(css: str) -> set[str]:
    """Every class and id that a sheet of styles names.

    >>> sorted(names_styled(".ledger .amount, #said.late { color: #fff; } @media print { .acts a { margin: .5rem; } }"))
    ['acts', 'amount', 'late', 'ledger', 'said']
    """
    selectors = re.findall(r"([^{};]+)\{", re.sub(r"/\*.*?\*/|\[[^]]*\]", "", css, flags=re.DOTALL))
    return {name for one in selectors if "@" not in one for name in re.findall(r"[.#]([A-Za-z][\w-]*)", one)}


def test_every_style_is_used() -> None:
    sources = [
        *(TOP / "templates").rglob("*.html"),
        *(TOP / "service").rglob("*.py"),
        *(TOP / "service/static").glob("*.js"),
    ]
    words = {word for path in sources for word in re.findall(r"[A-Za-z][\w-]*", path.read_text(encoding="utf-8"))}
    made = {
        "f-stop_lines",
        "f-left_over",
        *(f"d-{kind}" for kind in ("map", "thumb", "panel", "close", "path", "road", "rule", "size")),
    }
    styled = {name for path in SENT if path.suffix == ".css" for name in names_styled((TOP / path).read_text("utf-8"))}
    assert len(styled) > 100
    assert styled - words == made & styled


@pytest.mark.parametrize(("lines", "told"), [(59, []), (60, ["plan: 61 lines"])])
def test_a_function_is_told_when_it_passes_a_screen(lines: int, told: list[str]) -> None:
    assert list(long_functions("async def plan():\n" + "    pass\n" * lines)) == told
