"""Setting up from nothing, from something half made, without a network, and not at all when all is there.

The starts below are real ones, in a small tree of its own whose only package is a wheel made here.
"""

import ast
import hashlib
import os
import re
import shutil
import subprocess
import sys
import threading
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

from service.__main__ import too_old
from service.setting_up import (
    ALL_PINS,
    LOCK,
    LOG,
    SERVICE_PINS,
    TOP,
    UNFINISHED,
    CannotSetUp,
    alone,
    is_stamped,
    prepare,
    python_in,
    stamp_of,
)

WHEEL = "threadcount-1.0-py3-none-any.whl"
PROGRAM = """import sys

def main(arguments):
    import threadcount
    print("handed over", threadcount.PER_CM, *arguments)
    return 0

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
"""
NO_NETWORK = "The packages cannot be fetched: the network does not answer. Connect it and start again."


@dataclass(frozen=True)
class Tree:
    """A small checkout with everything that sets up, and one package to install."""

    top: Path

    @property
    def venv(self) -> Path:
        return self.top / ".venv"

    @property
    def pins(self) -> Path:
        return self.top / SERVICE_PINS

    def start(self, *arguments: str, connected: bool) -> subprocess.CompletedProcess[str]:
        """Start the program here as a person does; the network is a folder with the wheel, or an address that refuses."""
        own = {key: value for key, value in os.environ.items() if not key.startswith(("PIP_", "UV_", "PYTHON"))}
        wheels = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(self.top / "wheels")}
        nowhere = {"PIP_INDEX_URL": "http://127.0.0.1:9/"}
        surroundings = own | {"PIP_CONFIG_FILE": os.devnull} | (wheels if connected else nowhere)
        command = [sys.executable, "-m", "service", *arguments]
        return subprocess.run(command, cwd=self.top, env=surroundings, capture_output=True, text=True, check=False)


def plant(top: Path) -> Tree:
    """Write the small checkout."""
    (top / "service").mkdir(parents=True)
    for name in ("__init__.py", "__main__.py", "setting_up.py", "installer.txt"):
        shutil.copyfile(TOP / "service" / name, top / "service" / name)
    (top / "service/cli.py").write_text(PROGRAM, encoding="utf-8")
    (top / "wheels").mkdir()
    with zipfile.ZipFile(top / "wheels" / WHEEL, "w") as wheel:
        wheel.writestr("threadcount.py", "PER_CM = 20\n")
        wheel.writestr("threadcount-1.0.dist-info/METADATA", "Metadata-Version: 2.1\nName: threadcount\nVersion: 1.0\n")
        wheel.writestr(
            "threadcount-1.0.dist-info/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        wheel.writestr("threadcount-1.0.dist-info/RECORD", "")
    digest = hashlib.sha256((top / "wheels" / WHEEL).read_bytes()).hexdigest()
    (top / SERVICE_PINS).write_text(f"threadcount==1.0 --hash=sha256:{digest}\n", encoding="utf-8")
    return Tree(top)


@dataclass(frozen=True)
class Story:
    """A tree after two starts: one from a half-made `.venv` without a network, then one with."""

    tree: Tree
    offline: subprocess.CompletedProcess[str]
    online: subprocess.CompletedProcess[str]


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    tree = plant(tmp_path_factory.mktemp("planted") / "tree")
    (tree.venv / "bin").mkdir(parents=True)
    (tree.venv / "bin/python").write_text("torn in the middle", encoding="utf-8")
    (tree.venv / UNFINISHED).touch()
    return Story(tree, tree.start("demo", connected=False), tree.start("demo", "--port", "8001", connected=True))


@pytest.fixture
def stamped(tmp_path: Path) -> Tree:
    """A tree whose stamp is right, though it has no packages."""
    tree = plant(tmp_path / "tree")
    python_in(tree.venv).parent.mkdir(parents=True)
    python_in(tree.venv).symlink_to(sys.executable)
    (tree.venv / "service-requirements.txt.stamp").write_text(stamp_of(tree.top, SERVICE_PINS), encoding="utf-8")
    assert is_stamped(tree.top, SERVICE_PINS)
    return tree


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 6, 15), (3, 9, 2), (3, 10, 13)], ids=str)
def test_too_old_a_python_is_told_in_one_sentence(version: tuple[int, ...]) -> None:
    told = ".".join(map(str, version))
    assert too_old(version) == (
        f"Stopline needs Python 3.11 or newer, and this is Python {told}: start it with a newer one."
    )


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 14, 1), (4, 0, 0)], ids=str)
def test_a_python_new_enough_is_not_complained_of(version: tuple[int, ...]) -> None:
    assert too_old(version) == ""


def test_the_first_file_can_be_read_by_pythons_that_are_too_old() -> None:
    read = ast.parse((TOP / "service/__main__.py").read_text(encoding="utf-8"), feature_version=(3, 6))
    functions = [node for node in ast.walk(read) if isinstance(node, ast.FunctionDef)]
    annotations = [function.returns for function in functions] + [
        argument.annotation for function in functions for argument in function.args.args
    ]
    assert {type(annotation) for annotation in annotations} <= {ast.Name, ast.Constant}


def test_without_a_network_it_is_told_in_one_sentence(story: Story) -> None:
    assert story.offline.returncode == 1
    assert story.offline.stdout == ""
    assert story.offline.stderr.splitlines() == [
        f"Making {story.tree.venv} (once).",
        "Fetching the installer.",
        NO_NETWORK,
    ]


def test_what_was_half_made_is_made_anew_and_then_finished(story: Story) -> None:
    assert story.online.stdout == "handed over 20 demo --port 8001\n"
    assert story.online.stderr.splitlines() == [
        "Fetching the installer.",
        "Fetching and installing the packages (1).",
        "Set up.",
    ]
    assert not (story.tree.venv / UNFINISHED).exists()


def test_a_second_start_needs_no_network_and_says_nothing(story: Story) -> None:
    started = story.tree.start("serve", connected=False)
    assert (started.returncode, started.stdout, started.stderr) == (0, "handed over 20 serve\n", "")


def test_a_start_by_the_program_s_own_python_goes_on_directly(story: Story) -> None:
    command = [str(python_in(story.tree.venv)), "-m", "service", "check"]
    assert subprocess.check_output(command, cwd=story.tree.top, text=True) == "handed over 20 check\n"


def test_preparing_hands_nothing_over(story: Story) -> None:
    assert story.tree.start("prepare", connected=False).stdout == ""


def test_a_package_with_a_wrong_hash_is_refused_in_one_sentence(story: Story, tmp_path: Path) -> None:
    tree = Tree(shutil.copytree(story.tree.top, tmp_path / "tree", symlinks=True))
    changed = tree.pins.read_text(encoding="utf-8").replace("==1.0", "==1.1")
    tree.pins.write_text(re.sub("sha256:.{8}", "sha256:00000000", changed), encoding="utf-8")
    (tree.top / "wheels" / WHEEL).rename(tree.top / "wheels" / WHEEL.replace("1.0", "1.1"))
    started = tree.start("demo", connected=True)
    log = tree.venv / LOG
    assert started.returncode == 1
    assert started.stderr.splitlines() == [
        "Fetching the installer.",
        "Fetching and installing the packages (1).",
        f"The packages could not be installed. What the installer said stands in {log}.",
    ]
    assert "DO NOT MATCH THE HASHES" in log.read_text(encoding="utf-8")


def test_a_stamp_is_wrong_once_the_pins_change(stamped: Tree) -> None:
    with stamped.pins.open("a", encoding="utf-8") as pins:
        pins.write("# another day\n")
    assert not is_stamped(stamped.top, SERVICE_PINS)


def test_a_stamp_is_wrong_once_the_python_it_was_made_for_is_gone(stamped: Tree) -> None:
    python_in(stamped.venv).unlink()
    assert not is_stamped(stamped.top, SERVICE_PINS)


def test_a_stamp_is_wrong_once_its_python_has_become_another(stamped: Tree) -> None:
    python_in(stamped.venv).unlink()
    python_in(stamped.venv).symlink_to(stamped.pins)
    assert not is_stamped(stamped.top, SERVICE_PINS)


def test_a_python_without_its_venv_module_is_told_in_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tree = plant(tmp_path / "tree")
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(CannotSetUp) as refused:
        prepare(tree.top)
    assert str(refused.value) == (
        "This Python lacks its venv module. Install it (on Debian and Ubuntu: apt-get install python3-venv) and start again."
    )


def test_a_folder_that_cannot_be_written_is_told_in_one_sentence(tmp_path: Path) -> None:
    tree = plant(tmp_path / "tree")
    tree.venv.write_text("a file stands where the folder belongs", encoding="utf-8")
    with pytest.raises(CannotSetUp) as refused:
        prepare(tree.top)
    assert str(refused.value) == (
        f"{tree.venv} cannot be written (File exists). Give the folder to yourself, or move it where you may write."
    )


def test_two_starts_at_once_take_turns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    order: list[str] = []

    def second() -> None:
        with alone(tmp_path / LOCK):
            order.append("second")

    other = threading.Thread(target=second)
    with alone(tmp_path / LOCK):
        other.start()
        other.join(timeout=0.5)
        order.append("first")
    other.join()
    assert order == ["first", "second"]
    assert capsys.readouterr().err == "Another start is setting up; waiting for it.\n"


@pytest.mark.parametrize("pins", [*ALL_PINS, "service/installer.txt"])
def test_every_pin_has_a_hash_and_no_address(pins: str) -> None:
    text = (TOP / pins).read_text(encoding="utf-8")
    pinned = re.findall(r"^(?![ #]).+", text, re.MULTILINE)
    assert [line for line in pinned if not re.fullmatch(r"[a-z0-9._-]+(\[[a-z,]+\])?==\S+( ; .+)? \\", line)] == []
    assert len(re.findall(r"\\\n    --hash=sha256:[0-9a-f]{64}", text)) >= len(pinned) > 0
    assert "://" not in text
