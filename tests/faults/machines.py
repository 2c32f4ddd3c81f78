"""How a state machine is run: so many runs from one prepared studio, by a test or by command."""

import argparse
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import RuleBasedStateMachine, run_state_machine_as_test


class Run(Protocol):
    """So many runs of at most so many steps from a template; the same ones each time when asked so."""

    def __call__(self, template: Path, runs: int, steps: int, *, same: bool) -> None: ...


def run_machine(machine: type[RuleBasedStateMachine], template: Path, runs: int, steps: int, *, same: bool) -> None:
    """Run this machine so."""
    found = settings(
        max_examples=runs,
        stateful_step_count=steps,
        derandomize=same,
        deadline=None,
        phases=(Phase.generate, Phase.shrink),
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(type("MachineHere", (machine,), {"template": template}), settings=found)


def measure(name: str, prepared: Callable[[Path], Path], run: Run, runs: int, steps: int, asked: Sequence[str]) -> int:
    """Run it by command, so often unless asked otherwise, and print its line."""
    parser = argparse.ArgumentParser(description=f"{name}, against the plain model")
    parser.add_argument("--runs", type=int, default=runs)
    parser.add_argument("--steps", type=int, default=steps)
    given, began = parser.parse_args(asked), time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        run(prepared(Path(folder)), given.runs, given.steps, same=False)
    took = time.monotonic() - began
    print(f"{name}: {given.runs} runs of up to {given.steps} steps, 0 violations (0), {took:.0f} s: pass")
    return 0
