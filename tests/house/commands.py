"""The service's commands as somebody types them, each in a process of its own that has the program read already.

A parent reads the program once and forks itself for every command: reading it takes longer than most commands do.
"""

import atexit
import json
import os
import subprocess
import sys
from functools import cache
from importlib import import_module
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CLEAN = {name: value for name, value in os.environ.items() if not name.startswith(("STOPLINE_", "DATABASE_URL"))}
READ = (
    "service.app",
    "service.loading",
    "service.serving",
    "service.studio.demo",
    "service.studio.restoring",
    "alembic.command",
)


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run one command to its end."""
    parent = _parent()
    assert parent.stdin is not None
    assert parent.stdout is not None
    parent.stdin.write(json.dumps({"arguments": arguments, "environment": CLEAN | environment}) + "\n")
    parent.stdin.flush()
    told = json.loads(parent.stdout.readline())
    return subprocess.CompletedProcess(arguments, told["code"], told["stdout"], told["stderr"])


@cache
def _parent() -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.house.commands"]
    parent = subprocess.Popen(command, cwd=ROOT, env=CLEAN, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    atexit.register(parent.communicate)
    return parent


def _answer_each() -> None:
    cli = import_module("service.cli")
    for module in READ:
        import_module(module)
    for line in sys.stdin:
        asked = json.loads(line)
        said = {name: os.memfd_create(name) for name in ("stdout", "stderr")}
        child = os.fork()
        if child == 0:
            os.environ.clear()
            os.environ.update(asked["environment"])
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            os.dup2(said["stdout"], 1)
            os.dup2(said["stderr"], 2)
            code = cli.main(asked["arguments"])
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)
        _, status = os.waitpid(child, 0)
        told: dict[str, int | str] = {"code": os.waitstatus_to_exitcode(status)}
        for name, number in said.items():
            os.lseek(number, 0, os.SEEK_SET)
            with os.fdopen(number, encoding="utf-8") as written:
                told |= {name: written.read()}
        print(json.dumps(told), flush=True)


if __name__ == "__main__":
    _answer_each()
