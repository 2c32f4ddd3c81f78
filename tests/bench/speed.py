"""The bench: a big studio, the service and the limit page in turn, and every figure beside the one to reach.

`python3 -m service bench` makes a studio of 5,000 garments (200,000 steps, 500,000 tallies) in a temporary folder and
takes about five minutes; `--garments` makes another size, `--seconds` loads each page longer or shorter, `--quick`
takes a tenth of everything, `--write` puts the figures into the guides, `--json FILE` into a file. It fails when a mark
is missed.
"""

import argparse
import os
import platform
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from tests.bench import forecast_speed
from tests.bench.big import Studio, studio_of
from tests.bench.figures import Figure, put_between, table, write_json
from tests.bench.growth import measure_growth
from tests.bench.pages import measure_pages
from tests.bench.questions import measure_questions
from tests.bench.servers import TOP
from tests.bench.starting import measure_starts

GARMENTS, SECONDS = 5000, 6.0
SHOWN_TO_USERS = {"start", "pages", "tally", "memory", "weight"}
PARTS = ("starts", "reckoning", "questions", "pages", "growth")
QUICK_GARMENTS, QUICK_SECONDS = 500, 1.0


def main(asked: argparse.Namespace, say: Callable[[str], None] = print) -> int:
    """Measure everything and say it; 1 when a mark is missed."""
    garments = asked.garments or (QUICK_GARMENTS if asked.quick else GARMENTS)
    seconds = asked.seconds or (QUICK_SECONDS if asked.quick else SECONDS)
    began, busy = time.perf_counter(), os.getloadavg()[0]
    with tempfile.TemporaryDirectory(prefix="stopline-bench-") as place:
        folder = Path(place)
        studio, filled_s = _filled(folder, garments, say)
        figures = [Figure("studio", f"{garments:,} garments filled", filled_s, "s")]
        for name, measure in _measures(studio, folder, garments, seconds).items():
            if asked.only and name not in asked.only:
                continue
            say(f"Measuring {name}.")
            figures += measure()
    about = _about(garments, busy)
    say(f"\n{about['machine']}, {about['day']}, load average {busy:.1f} before and {os.getloadavg()[0]:.1f} after.")
    say(table(figures))
    missed = [each for each in figures if each.is_missed]
    say(f"{len(missed)} missed, in {time.perf_counter() - began:.0f} seconds.")
    if asked.write:
        write_down(figures, f"{about['machine']}, {about['day']}, {garments:,} garments.")
    if asked.json:
        write_json(figures, about, asked.json)
    return int(bool(missed))


def write_down(figures: list[Figure], where: str, top: Path = TOP) -> None:
    """Write the last figures into the guides: those with a mark for users, all for contributors."""
    marked = [each for each in figures if each.reach is not None]
    missed = [each for each in marked if each.is_missed]
    kept = f"{len(marked) - len(missed)} of {len(marked)} marks are reached"
    shown = [each for each in marked if each.area in SHOWN_TO_USERS]
    put_between("bench", f"{where} {kept}.\n\n{table(shown)}", top / "README.md")
    put_between("bench", f"{where} {kept}.\n\n{table(figures)}", top / "DEVELOPERS.md")


def _filled(folder: Path, garments: int, say: Callable[[str], None]) -> tuple[Studio, float]:
    say(f"Filling a studio of {garments:,} garments.")
    began = time.perf_counter()
    return studio_of(folder / "studio", garments), time.perf_counter() - began


def _measures(studio: Studio, folder: Path, garments: int, seconds: float) -> dict[str, Callable[[], list[Figure]]]:
    return {
        "starts": lambda: measure_starts(studio),
        "reckoning": _reckoned,
        "questions": lambda: measure_questions(studio),
        "pages": lambda: measure_pages(studio, seconds),
        "growth": lambda: measure_growth(folder, garments, seconds),
    }


def _reckoned() -> list[Figure]:
    return [Figure("reckoning", each.what, each.milliseconds, "ms", each.target) for each in forecast_speed.found()]


def _about(garments: int, busy: float) -> dict[str, object]:
    machine = f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"
    return {
        "machine": machine,
        "day": datetime.now(UTC).date().isoformat(),
        "garments": garments,
        "load_average": round(busy, 1),
    }


def _options(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python3 -m service bench", description="Measure against the limit.")
    parser.add_argument("--garments", type=int, default=0, help=f"how many garments ({GARMENTS})")
    parser.add_argument("--seconds", type=float, default=0.0, help=f"how long each page is loaded ({SECONDS:g})")
    parser.add_argument("--json", type=Path, help="write the figures into this file too")
    parser.add_argument("--write", action="store_true", help="write the figures into README.md and DEVELOPERS.md")
    parser.add_argument("--only", nargs="+", choices=PARTS, help="only these parts")
    parser.add_argument("--quick", action="store_true", help="a tenth of everything")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main(_options(sys.argv[1:])))
