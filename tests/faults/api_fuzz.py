"""The JSON interface asked at random by its own description, as four people: no 5xx, nothing it does not describe.

    python -m tests.faults.api_fuzz --examples 1000

The command runs every check and every phase; `fuzz` is the short one of the suite, the same questions every time.
"""

import argparse
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx2
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.core.result import Ok

from service.records.db import Database, Writing, migrate, open_database, sqlite_url
from service.records.tables import Garment
from service.studio.sign_in import make_token
from service.studio.window import make_link
from service.web.window_visit import PLAIN_COOKIE as WINDOW_COOKIE
from tests.building import a_garment
from tests.counting import number, person, stitcher_id
from tests.giving import Giving, give
from tests.quoting import charge
from tests.serving import OWNER, STITCHER, Live, open_studio, serving

SETTINGS = Path(__file__).with_suffix(".toml")
PHASES = "examples,coverage,fuzzing,stateful"
MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)
Headers = dict[str, str]


@dataclass
class Figures:
    """What a run came to: how often each status was answered, and a line for every fault."""

    statuses: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    @property
    def asked(self) -> int:
        """How many questions were asked."""
        return self.statuses.total()


def fill(db: Writing) -> int:
    """Something to ask after: a garment in a stitcher's hands, and charges. Gives its commission."""
    charge(db)
    garment_id = number(a_garment(db, "handkerchief"))
    give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, STITCHER)), datetime.now(UTC))
    return db.get_one(Garment, garment_id).commission_id


def people(live: Live, commission_id: int) -> dict[str, Headers]:
    """Nobody, a stitcher, the owner, and a client whose window is open: what each sends to be let in."""
    with live.database.writing() as db:
        now = datetime.now(UTC)
        tokens = {who: make_token(db, email, now) for who, email in (("stitcher", STITCHER), ("owner", OWNER))}
        secret = make_link(db, person(db, OWNER), commission_id, ("Her mother", 30), now)
    with live.visitor() as client:
        client.post(f"/window/in/{secret}")
        window = {"Cookie": f"{WINDOW_COOKIE}={client.cookies[WINDOW_COOKIE]}"}
    return {"nobody": {}, "client": window, **{who: {"Authorization": f"Bearer {of}"} for who, of in tokens.items()}}


def fuzz(live: Live, who: dict[str, Headers], examples: int) -> Figures:
    """Ask every operation so many questions that fit its description and so many that do not, each as everybody."""
    figures = Figures()
    described = httpx2.get(f"{live.url}/openapi.json", verify=False).json()
    schema = schemathesis.openapi.from_dict(described, config=schemathesis.Config.from_path(SETTINGS))
    for found in schema.get_all_operations():
        assert isinstance(found, Ok), found.err()
        operation = found.ok()
        for mode in MODES:
            try:
                _ask(operation.as_strategy(generation_mode=mode), live.url, who, examples, figures)
            except Unsatisfiable:  # nothing about it can be wrong: it takes neither numbers nor a body
                assert not operation.body
    return figures


def _ask(cases: Any, url: str, who: dict[str, Headers], examples: int, figures: Figures) -> None:
    @given(case=cases)
    @settings(
        max_examples=examples,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def ask(case: Any) -> None:
        for name, headers in who.items():
            answer = case.call(base_url=url, headers=headers)
            figures.statuses[answer.status_code] += 1
            try:
                case.validate_response(answer, headers=headers)
            except BaseExceptionGroup as group:
                told = "; ".join(str(fault).splitlines()[0] for fault in group.exceptions)
                figures.faults.append(f"{name}: {answer.status_code}: {told}: {case.as_curl_command()[:500]}")

    ask()


def run_all(live: Live, who: dict[str, Headers], examples: int, folder: Path) -> dict[str, int]:
    """Every check and every phase by the tool's own command, one person after the other; gives what each run ended in."""
    ended = {}
    for name, headers in who.items():
        command = [str(Path(sys.executable).with_name("schemathesis")), "--config-file", str(SETTINGS), "run"]
        command += [f"{live.url}/openapi.json", "--checks", "all", "--phases", PHASES, "-n", str(examples)]
        command += ["--no-color", "--continue-on-failure", "--warnings", "off", "--generation-database", "none"]
        command += [part for item in headers.items() for part in ("-H", ": ".join(item))]
        done = subprocess.run(command, capture_output=True, text=True, cwd=folder, check=False)
        ended[name] = done.returncode
        print(done.stdout if done.returncode else f"{name}: " + _counted(done.stdout), flush=True)
    return ended


def _counted(told: str) -> str:
    return next((line.strip() for line in told.splitlines() if " generated" in line), "nothing was asked")


@contextmanager
def filled(folder: Path) -> Iterator[tuple[Database, int]]:
    """A studio of its own in that folder, with something to ask after."""
    url = sqlite_url(folder)
    migrate(url)
    database = open_database(url)
    open_studio(database)
    with database.writing() as db:
        commission_id = fill(db)
    yield database, commission_id
    database.close()


def main(arguments: Sequence[str]) -> int:
    """Run everything and print a line for each person."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--examples", type=int, default=1000)
    examples = parser.parse_args(arguments).examples
    with (
        tempfile.TemporaryDirectory() as base,
        filled(Path(base)) as (database, commission_id),
        serving(database) as live,
    ):
        ended = run_all(live, people(live, commission_id), examples, Path(base))
    failing = [name for name, status in ended.items() if status]
    print(
        f"api_fuzz: {len(ended)} people, {examples} examples an operation, to reach 0 failing, found {len(failing)}: "
        f"{'miss' if failing else 'pass'}"
    )
    return 1 if failing else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
