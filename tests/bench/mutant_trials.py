"""Trying mutants on the tests of the core: collected once, then one forked process for each mutant.

First one process runs every test and notes which functions it comes by and how long it takes. Then each mutant is put
in the place of its function, in a process of its own, and meets the tests that come by it, the quickest and those that
killed before first, until one fails. A failing property is not made smaller, and a test that takes far longer than it
should ends the trial.
"""

import cProfile
import gc
import importlib
import json
import os
import resource
import signal
import tempfile
import textwrap
import time
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from types import FunctionType
from typing import NamedTuple

import pytest
from _pytest.runner import runtestprotocol

MEMORY = 4 * 2**30
PATIENCE_S, PATIENCE = 2.0, 10.0
DEAD = frozenset({"killed", "timeout"})
NEVER_BEGAN = 7
TOLD_EVERY = 50


class Mutant(NamedTuple):
    """A function changed in one place: its name among mutants, its module, its class if it is a method, its lines."""

    name: str
    module: str
    owner: str | None
    function: str
    lines: str

    def original(self) -> FunctionType:
        """The function as it is."""
        here = importlib.import_module(self.module)
        found = vars(getattr(here, self.owner))[self.function] if self.owner else vars(here)[self.function]
        found = getattr(found, "__func__", found)
        if not isinstance(found, FunctionType):
            raise TypeError(self.name)
        return found

    def put_in_place(self) -> None:
        """Let the function do what the mutant does, wherever it has been imported."""
        original = self.original()
        space: dict[str, object] = dict(original.__globals__)
        mangled = self.name.rpartition(".")[2]
        source = textwrap.dedent(self.lines).replace("@staticmethod\n", "").replace("@classmethod\n", "")
        outer = f"def outer(__class__):\n{textwrap.indent(source, ' ')}\n return {mangled}\n"
        exec(compile(outer, original.__code__.co_filename, "exec"), space)
        made = space["outer"](None)  # type: ignore[operator]
        original.__code__ = made.__code__.replace(co_name=original.__name__)
        original.__defaults__, original.__kwdefaults__ = made.__defaults__, made.__kwdefaults__


class ComesBy(NamedTuple):
    """A test, how long it takes, and the places in the code it comes by."""

    item: pytest.Item
    seconds: float
    places: frozenset[tuple[str, str]]


class Trials:
    """A plugin that runs trials where pytest would run tests; `fates` then says what became of each mutant."""

    def __init__(self, mutants: Iterable[Mutant], processes: int) -> None:
        """Take the mutants to try, and how many at a time."""
        self.mutants = tuple(mutants)
        self.processes = processes
        self.fates: dict[str, str] = {}
        self.broken: list[str] = []
        self.killers: dict[str, Counter[str]] = defaultdict(Counter)

    @pytest.hookimpl(trylast=True)
    def pytest_configure(self) -> None:
        """Leave failing cases as large as they are found."""
        from hypothesis import Phase, settings

        settings.register_profile("mutants", settings.get_profile("ci"), phases=(Phase.explicit, Phase.generate))
        settings.load_profile("mutants")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Survey once, then try each mutant."""
        gc.collect()
        gc.freeze()
        tests, self.broken = _survey(session.items)
        if not self.broken:
            self._try_all(tests)
        return True

    def _try_all(self, tests: list[ComesBy]) -> None:
        running: dict[int, tuple[Mutant, int]] = {}
        for mutant in self.mutants:
            code = mutant.original().__code__
            mine = [one for one in tests if (code.co_filename, code.co_qualname) in one.places]
            if not mine:
                self.fates[mutant.name] = "no tests"
                continue
            if len(running) >= self.processes:
                self._wait_for_one(running)
            killed = self.killers[mutant.module]
            mine.sort(key=lambda one: one.seconds / (1 + killed[one.item.nodeid]) ** 2)
            heard, said = os.pipe()
            pid = os.fork()
            if pid == 0:
                _try(mutant, mine, said)
            os.close(said)
            running[pid] = (mutant, heard)
        while running:
            self._wait_for_one(running)

    def _wait_for_one(self, running: dict[int, tuple[Mutant, int]]) -> None:
        pid, status = os.wait()
        mutant, heard = running.pop(pid)
        with os.fdopen(heard, encoding="utf-8") as answer:
            killer = answer.read()
        code = os.waitstatus_to_exitcode(status)
        if code == NEVER_BEGAN:
            raise RuntimeError(mutant.name)
        self.fates[mutant.name] = {0: "survived", -signal.SIGVTALRM: "timeout"}.get(code, "killed")
        if self.fates[mutant.name] not in DEAD:
            print(f"lived: {mutant.name}", flush=True)
        if killer:
            self.killers[mutant.module][killer] += 1
        if len(self.fates) % TOLD_EVERY == 0:
            print(f"{len(self.fates)} tried: {dict(Counter(self.fates.values()))}", flush=True)


def _survey(items: list[pytest.Item]) -> tuple[list[ComesBy], list[str]]:
    """What each test comes by, and those that fail on the code as it is."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "told.json"
        pid = os.fork()
        if pid == 0:
            with suppress(BaseException):
                told.write_text(json.dumps(list(_come_by(items))), encoding="utf-8")
            os._exit(0)
        os.waitpid(pid, 0)
        rows = json.loads(told.read_text(encoding="utf-8"))
    tests = [
        ComesBy(item, seconds, frozenset(map(tuple, places)))
        for item, (seconds, places, _) in zip(items, rows, strict=True)
    ]
    return tests, [item.nodeid for item, (*_, passed) in zip(items, rows, strict=True) if not passed]


def _come_by(items: list[pytest.Item]) -> Iterator[tuple[float, list[tuple[str, str]], bool]]:
    for here, following in _with_next(items):
        profile = cProfile.Profile(builtins=False)
        started = time.process_time()
        profile.enable()
        passed = _passes(here, following)
        profile.disable()
        seconds = time.process_time() - started
        codes = [entry.code for entry in profile.getstats() if not isinstance(entry.code, str)]
        yield (
            seconds,
            sorted({(code.co_filename, code.co_qualname) for code in codes if "/reckoning/" in code.co_filename}),
            passed,
        )


def _try(mutant: Mutant, mine: list[ComesBy], said: int) -> None:
    """Meet the tests one by one, and say which one killed; never returns."""
    code = NEVER_BEGAN
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        mutant.put_in_place()
        code = 1
        for one, following in zip(mine, [*mine[1:], None], strict=True):
            signal.setitimer(signal.ITIMER_VIRTUAL, PATIENCE_S + PATIENCE * one.seconds)
            if not _passes(one.item, following and following.item):
                os.write(said, one.item.nodeid.encode())
                return
        code = 0
    finally:
        os._exit(code)


def _passes(item: pytest.Item, following: pytest.Item | None) -> bool:
    return not any(report.failed for report in runtestprotocol(item, log=False, nextitem=following))


def _with_next(items: list[pytest.Item]) -> Iterator[tuple[pytest.Item, pytest.Item | None]]:
    return zip(items, [*items[1:], None], strict=True)
