"""What stands in the repository: our words, our files, and nobody's address."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
AT_THE_TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "service",
    "migrations",
    "templates",
    "tests",
    "seed_data",
    "Dockerfile",
}
FOR_PEOPLE = ("service", "templates", "seed_data", "README.md", "DEVELOPERS.md")

OFFICE_WORDS = re.compile(  # thread has its ticket number, cotton or metric
    r"\b(tasks?|board|(?<!cotton )(?<!metric )tickets?(?! numbers?)|backlogs?|sprints?|milestones?|dashboards?|kanban|burndown|scrum|swimlanes?|gantt"
    r"|status columns?)\b",
    re.IGNORECASE,
)
REGISTRY = re.compile(r"(pypi|pythonhosted|npmjs|jsdelivr|unpkg|docker|ghcr|quay)[.](org|net|com|io)", re.IGNORECASE)
MACHINE_PATH = re.compile(r"(?<![\w.])/(work|root|tmp|home|farm|Users)/")
EXCUSED = re.compile(r"pytest[.](mark[.])?(skip|xfail)|importor[s]kip|unittest[.]skip|(?m:^)collect_ignore")
OTHERS_CODE = re.compile(r"[.]min[.](js|css)$|(^|/)(vendor|node_modules|third_party)/|[.](whl|woff2?|ttf|otf)$")


def kept() -> list[str]:
    """The paths of all files of the project: those that git keeps, or all that lie here where there is no git."""
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=False)
    if listed.returncode == 0:
        return [name for name in listed.stdout.splitlines() if (TOP / name).is_file()]
    ignored = set((TOP / ".gitignore").read_text(encoding="utf-8").replace("/", "").split())
    found = [path.relative_to(TOP) for path in TOP.rglob("*") if path.is_file()]
    return [path.as_posix() for path in found if not ignored & {*path.parts, f"*{path.suffix}"}]


FILES = kept()


def lines_with(pattern: re.Pattern[str], text: str) -> Iterator[str]:
    """Every line in which the pattern stands, with its number."""
    for number, line in enumerate(text.splitlines(), 1):
        if pattern.search(line):
            yield f"{number}: {line.strip()}"


def told(pattern: re.Pattern[str], *places: str) -> list[str]:
    """Where the pattern stands in the files of these places."""
    chosen = [name for name in FILES if name.startswith(places)]
    texts = ((name, (TOP / name).read_text(encoding="utf-8", errors="replace")) for name in chosen)
    return [f"{name}:{line}" for name, text in texts for line in lines_with(pattern, text)]


def test_the_top_level_holds_only_the_agreed_names() -> None:
    tops = {name.split("/")[0] for name in FILES}
    assert {top for top in tops if not top.startswith(".")} - AT_THE_TOP == set()


def test_nothing_speaks_the_language_of_office_project_trackers() -> None:
    assert told(OFFICE_WORDS, *FOR_PEOPLE) == []


def test_no_registry_is_named() -> None:
    assert told(REGISTRY, "") == []


def test_no_path_of_some_machine_is_named() -> None:
    assert told(MACHINE_PATH, "") == []


def test_no_test_is_excused() -> None:
    assert told(EXCUSED, "tests") == []


def test_no_code_or_font_of_others_is_kept_here() -> None:
    assert [name for name in FILES if OTHERS_CODE.search(name)] == []


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        (OFFICE_WORDS, "Drag the card to the next Board."),
        (OFFICE_WORDS, "# a backlog of gowns"),
        (REGISTRY, "--index-url https://pypi" + ".org/simple"),
        (MACHINE_PATH, "open('/" + "work/cloth.csv')"),
        (EXCUSED, "@pytest" + ".mark.skip"),
        (OTHERS_CODE, "service/static/lace.min.js"),
    ],
)
def test_each_pattern_finds_what_it_is_for(pattern: re.Pattern[str], line: str) -> None:
    assert list(lines_with(pattern, f"first\n{line}")) == [f"2: {line}"]


@pytest.mark.parametrize(
    "line", ["a tasking hem", "the ironing-boards", "at work/", "a skipped thread", "Ticket number 60"]
)
def test_plain_words_of_the_trade_pass(line: str) -> None:
    patterns = (OFFICE_WORDS, REGISTRY, MACHINE_PATH, EXCUSED, OTHERS_CODE)
    assert [found for pattern in patterns for found in lines_with(pattern, line)] == []
