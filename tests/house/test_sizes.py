"""No file of service/ is so long that it cannot be read in one sitting, and no function longer than a screen."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
FILES = sorted(path.relative_to(TOP) for path in (TOP / "service").rglob("*.py"))
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


@pytest.mark.parametrize(("lines", "told"), [(59, []), (60, ["plan: 61 lines"])])
def test_a_function_is_told_when_it_passes_a_screen(lines: int, told: list[str]) -> None:
    assert list(long_functions("async def plan():\n" + "    pass\n" * lines)) == told
