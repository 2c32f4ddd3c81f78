"""Imports go one way: pages know the studio, the studio knows the reckoning, the reckoning knows nothing of ours."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
MODULES = sorted(path.relative_to(TOP) for path in (TOP / "service").rglob("*.py"))

MAY_IMPORT = {
    "reckoning": {"reckoning"},
    "errors": set(),
    "languages": {"languages"},
    "records": {"records", "reckoning", "errors"},
    "drawing": {"drawing", "reckoning"},
    "papers": {"papers", "reckoning", "languages"},
    "studio": {"studio", "records", "reckoning", "errors"},
    "web": {"web", "studio", "records", "drawing", "papers", "reckoning", "errors", "languages"},
    "settings": {"records", "errors"},
    "app": {"web", "studio", "records", "reckoning", "settings", "errors"},
    "first_page": {"records"},
    "porch": {"first_page", "web"},
    "loading": {"app", "studio", "records", "settings", "errors"},
    "serving": {"loading", "porch", "first_page", "records", "settings", "errors"},
    "cli": {"serving", "loading", "app", "studio", "records", "drawing", "papers", "reckoning", "settings", "errors"},
    "setting_up": set(),
    "testing": {"setting_up"},
    "__main__": {"setting_up", "testing", "cli"},
}
"""What each area of service/ may import of ours; an area is a folder, or a module at the top."""

STANDARD = frozenset(sys.stdlib_module_names)
STANDARD_ALONE = {"setting_up", "testing", "__main__"}
"""Areas that run before any package is installed."""

RECKONED_WITH = {"numpy": "", "shapely": "", "pygrowup": "service/reckoning/growth_tables.py"}
"""The packages that the core may use, with the one module that may, if only one may."""

OUTSIDE_WORLD = {
    "asyncio",
    "io",
    "logging",
    "os",
    "pathlib",
    "secrets",
    "shutil",
    "socket",
    "subprocess",
    "sys",
    "time",
}
IMPURE_CALLS = {"open", "print", "input", "now", "today", "utcnow", "time"}
SEEDED = {"Random", "default_rng"}
"""The only two sources of chance that the core may make, each from a given seed."""


def area_of(path: Path) -> str:
    """The area a file of ours belongs to: the folder below service/, or the module's own name."""
    return path.parts[1] if len(path.parts) > 2 else path.stem


def imported(source: str) -> Iterator[str]:
    """The full dotted name of everything this source imports, anywhere in it; a relative one begins with a dot."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{'.' * node.level}{node.module or ''}.{alias.name}" for alias in node.names)


def is_allowed(path: Path, name: str) -> bool:
    """Whether this file may import this name."""
    area, (root, below, *_) = area_of(path), [*name.split("."), ""]
    if root in {"", "service"}:
        return below in MAY_IMPORT[area]
    if area == "reckoning":
        the_only_one = RECKONED_WITH.get(root, "nothing else" if root not in STANDARD - OUTSIDE_WORLD else "")
        return the_only_one in {"", path.as_posix()}
    return area not in STANDARD_ALONE or root in STANDARD


def wrong_imports(path: Path, source: str) -> list[str]:
    """Every name that this file imports and may not."""
    return [name for name in imported(source) if not is_allowed(path, name)]


def impurities(source: str) -> list[str]:
    """Every call in this source that reads a clock, speaks to the world, or draws by chance without a seed."""
    calls = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    return [ast.unparse(call) for call in calls if _is_impure(call)]


def _is_impure(call: ast.Call) -> bool:
    name = ast.unparse(call.func)
    module, _, last = name.rpartition(".")
    if last in SEEDED:
        return not call.args
    return last in IMPURE_CALLS or module in {"random", "np.random", "numpy.random"}


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_every_module_imports_only_what_its_area_may(path: Path) -> None:
    assert wrong_imports(path, (TOP / path).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", [path for path in MODULES if area_of(path) == "reckoning"], ids=str)
def test_the_reckoning_reads_no_clock_and_no_file_and_draws_nothing_unseeded(path: Path) -> None:
    assert impurities((TOP / path).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("path", "source", "wrong"),
    [
        ("reckoning/bands.py", "from service.records import db", ["service.records.db"]),
        ("reckoning/bands.py", "import sqlalchemy, os, math, numpy.typing", ["sqlalchemy", "os"]),
        ("reckoning/bands.py", "from pygrowup.tables import lfa", ["pygrowup.tables.lfa"]),
        ("reckoning/growth_tables.py", "from pygrowup.tables import lfa", []),
        ("reckoning/bands.py", "from service.reckoning.asked import Wrong", []),
        ("studio/making.py", "def plan():\n    from service.drawing.svg import short", ["service.drawing.svg.short"]),
        ("studio/making.py", "from service.web.words import KIND_WORDS", ["service.web.words.KIND_WORDS"]),
        ("studio/making.py", "from service import papers, records", ["service.papers"]),
        ("drawing/pen.py", "from service.studio.making import plan", ["service.studio.making.plan"]),
        ("web/garments.py", "import service.studio.making\nfrom service.papers import sheet", []),
        ("web/garments.py", "from . import words", ["..words"]),
        ("web/garments.py", "import service", ["service"]),
        ("setting_up.py", "import pip\nimport venv", ["pip"]),
        ("__main__.py", "from service.cli import main\nfrom service.app import create_app", ["service.app.create_app"]),
    ],
)
def test_a_wrong_arrow_is_seen_wherever_it_stands(path: str, source: str, wrong: list[str]) -> None:
    assert wrong_imports(Path("service", path), source) == wrong


@pytest.mark.parametrize(
    ("source", "wrong"),
    [
        ("day = date.today()", ["date.today()"]),
        ("open('pace.csv')", ["open('pace.csv')"]),
        ("np.random.normal(0, 1)", ["np.random.normal(0, 1)"]),
        ("random.Random()", ["random.Random()"]),
        ("np.random.default_rng(7).normal()", []),
        ("chance = random.Random(7)\nchance.random()", []),
    ],
)
def test_an_impure_call_is_seen_and_a_seeded_one_is_not(source: str, wrong: list[str]) -> None:
    assert impurities(source) == wrong
