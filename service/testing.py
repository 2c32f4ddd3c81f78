"""The test command: brings a browser, then runs every check and says how each ended; code is read while tests run.

Browser tests run in processes of their own: the synchronous browser driver leaves an event loop running, on which
other tests would stumble.
"""

import os
import shutil
import subprocess
import time
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from service.setting_up import TOP

BROWSER_VARIABLE = "STOPLINE_CHROMIUM"
BROWSER_NAMES = ("chromium", "chromium-browser", "google-chrome")
NO_BROWSER = (
    f"No Chromium runs here. Install one so that it is on PATH, or name its program in {BROWSER_VARIABLE}; "
    "on Debian, root gets it with apt-get install chromium."
)


@dataclass(frozen=True, slots=True)
class Check:
    """One check of the test command: its name, and how a Python that has all packages runs it."""

    name: str
    arguments: tuple[str, ...]
    in_browser: bool = False


SIDE_BY_SIDE = ("-n", "3", "--dist", "worksteal")  # more than processors: servers and browsers are waited for
CHECKS = (
    Check("ruff check", ("-m", "ruff", "check", ".")),
    Check("ruff format", ("-m", "ruff", "format", "--check", ".")),
    Check("mypy", ("-m", "mypy", "service", "tests")),
    Check("pytest", ("-m", "pytest", *SIDE_BY_SIDE, "tests", "service", "--ignore=tests/browser")),
    Check("pytest in the browser", ("-m", "pytest", *SIDE_BY_SIDE, "tests/browser"), in_browser=True),
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one check ended: whether it passed, and its last line."""

    name: str
    passed: bool
    last_line: str


def run_tests(python: Path, chosen: Sequence[str]) -> int:
    """Run every check, or pytest alone with the chosen arguments; gives the exit code."""
    surroundings = undisturbed(os.environ)
    if not chosen or any("browser" in one for one in chosen):
        surroundings[BROWSER_VARIABLE] = bring_browser(python)
    if chosen:
        return subprocess.call([str(python), "-m", "pytest", *chosen], cwd=TOP, env=surroundings)
    began = time.monotonic()
    readers = [check for check in CHECKS if "pytest" not in check.arguments]
    with ThreadPoolExecutor(1) as beside:  # reading the code takes one processor for a minute, so tests run meanwhile
        read = beside.submit(lambda: [_run(python, check, surroundings) for check in readers])
        tested = [_run(python, check, surroundings) for check in CHECKS if check not in readers]
        outcomes = [*read.result(), *tested]
    print(report(outcomes, time.monotonic() - began), flush=True)
    return 0 if all(outcome.passed for outcome in outcomes) else 1


def run_bench(python: Path, options: Sequence[str]) -> int:
    """Measure the speed of the service against the limit; gives the exit code."""
    return subprocess.call([str(python), "-m", "tests.bench.speed", *options], cwd=TOP, env=undisturbed(os.environ))


def undisturbed(environment: Mapping[str, str]) -> dict[str, str]:
    """The environment without what would point a test at somebody's own studio.

    The seed lets test processes side by side name a case after a set in the same way.
    """
    own = ("DATABASE_URL", "STOPLINE_")
    kept = {key: value for key, value in environment.items() if not key.startswith(own) or key == BROWSER_VARIABLE}
    return kept | {"PYTHONUNBUFFERED": "1", "PYTHONHASHSEED": "0"}


def report(outcomes: Sequence[Outcome], seconds: float) -> str:
    """One line a check, and one for all of them.

    >>> print(report([Outcome("mypy", True, "no issues found"), Outcome("pytest", False, "1 failed")], 5))
    <BLANKLINE>
    mypy: passed. no issues found
    pytest: FAILED. 1 failed
    1 of 2 checks FAILED, in 5 seconds.
    """
    lines = [f"{one.name}: {'passed' if one.passed else 'FAILED'}. {one.last_line}" for one in outcomes]
    failed = sum(not one.passed for one in outcomes)
    ended = f"{failed} of {len(outcomes)} checks FAILED" if failed else f"All {len(outcomes)} checks passed"
    return "\n".join(["", *lines, f"{ended}, in {seconds:.0f} seconds."])


def bring_browser(python: Path) -> str:
    """The path of a Chromium that runs, fetched if there is none yet; empty if none can be had."""
    named = os.environ.get(BROWSER_VARIABLE)
    if named:
        return _first_running([named])
    found = _first_running(BROWSER_NAMES)
    if not found and shutil.which("apt-get") and os.geteuid() == 0:
        for step in (("update",), ("install", "-y", "chromium")):
            _fetch(["apt-get", *step])
        found = _first_running(BROWSER_NAMES)
    if not found:
        _fetch([str(python), "-m", "playwright", "install", "chromium"])
        found = _first_running([_drivers_own(python)])
    return found


def _fetch(command: Sequence[str]) -> None:
    print(f"No Chromium here yet: {' '.join(command)}", flush=True)
    subprocess.call(command, env=os.environ | {"DEBIAN_FRONTEND": "noninteractive"})


def _drivers_own(python: Path) -> str:
    ask = "from playwright.sync_api import sync_playwright as s\nwith s() as p: print(p.chromium.executable_path)"
    return subprocess.run([str(python), "-c", ask], capture_output=True, text=True, check=False).stdout.strip()


def _first_running(programs: Iterable[str]) -> str:
    """The first of these that is there and starts; a distribution's empty shell of a package is passed over."""
    for program in filter(None, map(shutil.which, programs)):
        if subprocess.call([program, "--version"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0:
            return program
    return ""


def _run(python: Path, check: Check, surroundings: Mapping[str, str]) -> Outcome:
    """Run one check, show what it says as it comes, and keep its last line."""
    print(f"\n{check.name}", flush=True)
    if check.in_browser and not surroundings[BROWSER_VARIABLE]:
        return Outcome(check.name, passed=False, last_line=NO_BROWSER)
    last = ""
    with subprocess.Popen(
        [str(python), *check.arguments],
        cwd=TOP,
        env=surroundings,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    ) as running:
        for line in running.stdout or ():
            print(line, end="", flush=True)
            last = line.strip("= \n") or last
    return Outcome(check.name, running.returncode == 0, last)
