"""Setting the program up with the standard library alone: `.venv` beside the code, and the pinned packages in it.

A stamp in `.venv` tells which pins stand there, so that a start that finds it right does nothing more here.
"""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

TOP = Path(__file__).resolve().parent.parent
SERVICE_PINS = "service/requirements.txt"
ALL_PINS = (SERVICE_PINS, "tests/requirements.txt")
INSTALLER_PINS = "service/installer.txt"

LOCK = "setting-up.lock"
UNFINISHED = "setting-up.unfinished"  # stands as long as a killed start would leave something half made
LOG = "setting-up.log"

SIGNS_OF_NO_NETWORK = (
    "Retrying (Retry(",
    "NewConnectionError",
    "ConnectTimeout",
    "ReadTimeout",
    "dns error",
    "client error (Connect)",
    "Network connectivity is disabled",
)


class CannotSetUp(Exception):
    """Nothing can be run here; the words are one sentence for a person."""


def prepare(top: Path, pins: Sequence[str] = (SERVICE_PINS,)) -> Path:
    """Make sure that the packages of these pin files are installed; gives the Python that has them."""
    venv = top / ".venv"
    if not _lacking(top, pins):
        return python_in(venv)
    try:
        venv.mkdir(exist_ok=True)
        with alone(venv / LOCK) as lock:
            lacking = _lacking(top, pins)  # another start may have done it meanwhile
            if lacking:
                _set_up(top, lacking, lock)
    except OSError as error:
        told = f"{venv} cannot be written ({error.strerror or error})."
        raise CannotSetUp(f"{told} Give the folder to yourself, or move it where you may write.") from error
    return python_in(venv)


def python_in(venv: Path) -> Path:
    """The Python of a virtual environment."""
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def is_stamped(top: Path, pins: str) -> bool:
    """Whether the packages of this pin file, as it is now, are installed for a Python that is still there."""
    try:
        stamp = _stamp_file(top, pins).read_text(encoding="utf-8")
        return python_in(top / ".venv").exists() and stamp == stamp_of(top, pins)
    except OSError:
        return False


def stamp_of(top: Path, pins: str) -> str:
    """What the stamp of a pin file says: the file's hash, and the Python that the packages are for."""
    return f"{hashlib.sha256((top / pins).read_bytes()).hexdigest()} {os.path.realpath(python_in(top / '.venv'))}"


@contextmanager
def alone(lock_file: Path) -> Iterator[IO[str]]:
    """Hold the lock file; a second start waits here until the first is done, however that ended."""
    with lock_file.open("w", encoding="utf-8") as lock:
        if not _taken(lock):
            _say("Another start is setting up; waiting for it.")
            while not _taken(lock):
                time.sleep(0.2)
        yield lock


def _taken(lock: IO[str]) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _lacking(top: Path, pins: Sequence[str]) -> list[str]:
    return [one for one in pins if not is_stamped(top, one)]


def _stamp_file(top: Path, pins: str) -> Path:
    return top / ".venv" / f"{pins.replace('/', '-')}.stamp"


def _set_up(top: Path, lacking: Sequence[str], lock: IO[str]) -> None:
    venv = top / ".venv"
    # An installer that outlives a killed start keeps the lock, so that the next start waits for it.
    os.set_inheritable(lock.fileno(), True)  # noqa: FBT003
    if (venv / UNFINISHED).exists() or not _is_sound(venv):
        _make(venv)
    (venv / UNFINISHED).touch()
    _install(top, lacking)
    for pins in lacking:
        _stamp_file(top, pins).write_text(stamp_of(top, pins), encoding="utf-8")
    (venv / UNFINISHED).unlink()
    # The run that follows compiles the packages it uses; kept in .venv, that halves the time of every later start.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    _say("Set up.")


def _is_sound(venv: Path) -> bool:
    python = python_in(venv)
    probe = "import pip, sys; sys.exit(sys.version_info < (3, 11))"
    return python.exists() and _run([str(python), "-c", probe]).returncode == 0


def _make(venv: Path) -> None:
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        told = "This Python lacks its venv module."
        raise CannotSetUp(f"{told} Install it (on Debian and Ubuntu: apt-get install python3-venv) and start again.")
    import venv as standard

    _say(f"Making {venv} (once).")
    for old in venv.iterdir():
        if old.name != LOCK:
            shutil.rmtree(old) if old.is_dir() and not old.is_symlink() else old.unlink()
    (venv / UNFINISHED).touch()
    try:
        standard.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(venv)
    except subprocess.CalledProcessError as failed:
        told = "This Python's venv module does not work here."
        raise CannotSetUp(f"{told} Repair it (on Debian and Ubuntu: apt-get install python3-venv).") from failed


def _install(top: Path, lacking: Sequence[str]) -> None:
    python = str(python_in(top / ".venv"))
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--retries=2"]
    uv = [python, "-m", "uv", "pip", "install", "--quiet", "--python", python]
    _say("Fetching the installer.")
    fetched = _run([*pip, *_pinned(top, [INSTALLER_PINS])])
    if _is_offline(fetched):
        _refuse_offline(top)
    _say(f"Fetching and installing the packages ({_packages(top, lacking)}).")
    for way in (uv, pip):  # uv is the faster; pip does where uv cannot be had
        installed = _run([*way, *_pinned(top, lacking)])
        if installed.returncode == 0:
            return
    if _is_offline(installed):
        _refuse_offline(top)
    log = top / ".venv" / LOG
    log.write_text(installed.stdout, encoding="utf-8")
    raise CannotSetUp(f"The packages could not be installed. What the installer said stands in {log}.")


def _pinned(top: Path, lacking: Sequence[str]) -> list[str]:
    return ["--require-hashes", "--no-deps", *(part for pins in lacking for part in ("-r", str(top / pins)))]


def _packages(top: Path, lacking: Sequence[str]) -> int:
    """How many packages the pin files name; some stand in both."""
    texts = [(top / pins).read_text(encoding="utf-8") for pins in lacking]
    return len({line.split("==")[0] for text in texts for line in text.splitlines() if "==" in line})


def _run(command: Sequence[str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        close_fds=False,  # lets the lock through, see _set_up; everything else is closed by default
        check=False,
    )


def _is_offline(ended: subprocess.CompletedProcess[str]) -> bool:
    return ended.returncode != 0 and any(sign in ended.stdout for sign in SIGNS_OF_NO_NETWORK)


def _refuse_offline(top: Path) -> None:
    (top / ".venv" / UNFINISHED).unlink()  # nothing was changed, so what stood before stands
    raise CannotSetUp("The packages cannot be fetched: the network does not answer. Connect it and start again.")


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)
