"""The test command: what it runs, in what surroundings, and how it tells the end."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from service import testing
from service.testing import BROWSER_VARIABLE, CHECKS, NO_BROWSER, Check, Outcome, bring_browser, report, undisturbed

TOP = Path(__file__).resolve().parents[2]
HERE = Path(sys.executable)


def program(folder: Path, name: str, ends_with: int) -> Path:
    """A program that does nothing and ends with this code."""
    path = folder / name
    path.write_text(f"#!/bin/sh\nexit {ends_with}\n", encoding="utf-8")
    path.chmod(0o755)
    return path


def test_every_kind_of_check_is_run_in_order_and_the_browser_has_processes_of_its_own() -> None:
    assert [check.arguments[1:] for check in CHECKS] == [
        ("ruff", "check", "."),
        ("ruff", "format", "--check", "."),
        ("mypy", "service", "tests"),
        ("pytest", "-n", "3", "--dist", "worksteal", "tests", "service", "--ignore=tests/browser"),
        ("pytest", "-n", "3", "--dist", "worksteal", "tests/browser"),
    ]


def test_the_script_of_the_house_calls_the_test_command_and_nothing_else() -> None:
    script = TOP / ".ci/run"
    lines = script.read_text(encoding="utf-8").splitlines()
    assert lines == ["#!/usr/bin/env bash", "set -eu", 'cd "$(dirname "$0")/.."', "python3 -m service test"]
    assert os.access(script, os.X_OK)


def test_a_check_that_fails_is_shown_and_kept_with_its_last_line(capfd: pytest.CaptureFixture[str]) -> None:
    check = Check("count", ("-c", "print('19 a cm')\nprint('== 1 wrong ==')\nprint()\nraise SystemExit(3)"))
    outcome = testing._run(HERE, check, undisturbed(os.environ))
    assert (outcome.passed, outcome.last_line) == (False, "1 wrong")
    assert capfd.readouterr().out == "\ncount\n19 a cm\n== 1 wrong ==\n\n"


def test_all_checks_passed_is_said_only_when_it_is_so() -> None:
    good, bad = (
        Outcome("mypy", passed=True, last_line="clean"),
        Outcome("pytest", passed=False, last_line="1 failed"),
    )
    assert report([good, good], 4).splitlines()[-1] == "All 2 checks passed, in 4 seconds."
    assert report([good, bad], 5).splitlines()[-1] == "1 of 2 checks FAILED, in 5 seconds."


def test_without_any_browser_the_browser_tests_fail_and_say_what_to_do() -> None:
    outcome = testing._run(HERE, CHECKS[-1], {BROWSER_VARIABLE: ""})
    assert (outcome.passed, outcome.last_line) == (False, NO_BROWSER)


def test_the_named_browser_is_taken_and_one_that_does_not_start_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(BROWSER_VARIABLE, str(program(tmp_path, "mine", 0)))
    assert bring_browser(HERE) == str(tmp_path / "mine")
    monkeypatch.setenv(BROWSER_VARIABLE, str(program(tmp_path, "broken", 1)))
    assert bring_browser(HERE) == ""


def test_a_browser_on_the_path_that_is_an_empty_shell_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(BROWSER_VARIABLE, raising=False)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    program(tmp_path, "chromium", 1)
    real = program(tmp_path, "chromium-browser", 0)
    assert bring_browser(HERE) == str(real)


def test_tests_never_see_somebody_s_own_studio() -> None:
    own = {"DATABASE_URL": "postgresql://studio", "STOPLINE_DATA": "studio", BROWSER_VARIABLE: "mine", "LANG": "C"}
    assert undisturbed(own) == {BROWSER_VARIABLE: "mine", "LANG": "C", "PYTHONUNBUFFERED": "1", "PYTHONHASHSEED": "0"}


def test_chosen_arguments_go_to_pytest_alone() -> None:
    command = [sys.executable, "-c", "import sys; from pathlib import Path; from service.testing import run_tests\n"]
    command[-1] += "sys.exit(run_tests(Path(sys.executable), ['--version']))"
    run = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=True)
    assert run.stdout.splitlines() == [f"pytest {pytest.__version__}"]
