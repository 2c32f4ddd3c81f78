"""What the container promises: the pins of the house, nobody's privileges, data on a volume, and a sign of health."""

import re
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
TEXT = (TOP / "Dockerfile").read_text(encoding="utf-8")
STEPS = [line for line in re.sub(r"\\\n\s*", "", TEXT).splitlines() if line and not line.startswith("#")]
LAST_STAGE = STEPS[max(at for at, step in enumerate(STEPS) if step.startswith("FROM")) :]


def told(word: str) -> list[str]:
    """What the last stage says after this word, each time."""
    return [step.removeprefix(f"{word} ") for step in LAST_STAGE if step.startswith(f"{word} ")]


def test_the_image_is_slim_and_of_the_oldest_python_that_will_do() -> None:
    assert [step.split()[1] for step in STEPS if step.startswith("FROM")] == ["python:3.11-slim", "python:3.11-slim"]


def test_packages_come_by_the_house_s_own_pins_and_by_no_other_way() -> None:
    installs = [step for step in STEPS if re.search(r"pip install|uv pip|apt-get|curl|wget", step)]
    prepared = [step for step in STEPS if step.startswith("RUN python -m service prepare ")]
    assert (installs, len(prepared)) == ([], 1)
    copied = next(step for step in STEPS if step.startswith("COPY service/"))
    assert {"service/installer.txt", "service/requirements.txt"} < set(copied.split())
    assert "--from=packages /app/.venv .venv" in told("COPY")


def test_it_runs_as_nobody_in_particular_and_keeps_data_on_a_volume_of_its_own() -> None:
    assert told("USER") == ["stopline"]
    assert told("VOLUME") == ["/data"]
    assert "STOPLINE_DATA=/data" in " ".join(told("ENV")).split()
    owner = next(step for step in told("RUN") if "useradd" in step)
    assert owner.endswith("install -d -o stopline -m 700 /data")


def test_it_serves_to_all_and_asks_itself_how_it_is() -> None:
    assert told("ENTRYPOINT") == ['["python", "-m", "service"]']
    assert told("CMD") == ['["serve", "--host", "0.0.0.0", "--port", "8000"]']
    (health,) = told("HEALTHCHECK")
    asked = re.search(r'CMD \["python", "-c", "(.+)"\]$', health)
    assert asked is not None
    assert "urllib.request" in asked[1]
    assert "http://127.0.0.1:8000/health" in asked[1]


def test_every_folder_that_the_image_copies_is_let_through_to_the_build() -> None:
    ignore = (TOP / ".dockerignore").read_text(encoding="utf-8").splitlines()
    let_through = {line.removeprefix("!") for line in ignore if line.startswith("!")}
    copied = {step.split()[0] for step in told("COPY") if not step.startswith("--from")}
    assert ignore[0] == "*"
    assert copied == let_through
    assert all((TOP / name).exists() for name in copied)
