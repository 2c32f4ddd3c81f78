"""How many mutants of the reckoning its own tests kill, on random samples or on all of them.

`python -m tests.bench.mutants --sample 400 --seed 1` makes every mutant of service/reckoning in ./mutants (git passes
over it), draws so many by chance, tries each on the tests of the core that come by it, and prints the survivors with
what was changed, and the share killed with its 95 % interval (Wilson, "Probable inference", 1927). One that runs far
longer than its test should is killed; one that no test comes by has lived. Without `--sample` all are tried.

`--only 'gates.*' 'money.*'` keeps to these files, `--only gates.x_refusal__mutmut_3` to one mutant; `--plain`
leaves the property tests out, which takes a part of the time and can only find more that live. Broken off (Ctrl-C) it
tells what it has.

They are tried in the order they are drawn, so a run that is broken off has tried a fair sample too. A survivor that no
test could tell from the original stands in equivalent_mutants.txt with the reason; it counts as lived, and the share of
the others is a figure of its own.
"""

import argparse
import contextlib
import io
import json
import os
import random
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from difflib import unified_diff
from fnmatch import fnmatch
from math import sqrt
from pathlib import Path
from typing import NamedTuple

from tests.bench.mutant_trials import DEAD, Mutant, Trials

MADE = Path("mutants/service/reckoning")
EXPLAINED = Path(__file__).with_name("equivalent_mutants.txt")
ASKED = ("tests/reckoning", "tests/published", "service/reckoning")
# how fast it is, is not asked of slowed code
PYTEST = ("-q", "-s", "-p", "no:cacheprovider", "-k", "not in_a_moment and not within_a_second")


class Explained(NamedTuple):
    """Mutants that are the same as the original: of which functions, what the line was and is, and why."""

    where: str
    was: str
    now: str
    because: str

    def explains(self, mutant: Mutant, change: Sequence[str]) -> bool:
        """Whether it is of this mutant."""
        gone = "\n".join(line[1:].strip() for line in change if line[0] == "-")
        come = "\n".join(line[1:].strip() for line in change if line[0] == "+")
        return fnmatch(mutant.name, self.where) and bool(re.search(self.was, gone)) and bool(re.search(self.now, come))


def made() -> dict[str, Mutant]:
    """Every mutant by its name; those of a file that has changed are made anew. mutmut settles how processes start."""
    from mutmut.__main__ import create_mutants
    from mutmut.mutation.trampoline import set_mutant_under_test
    from mutmut.utils.file_utils import copy_src_dir

    with contextlib.redirect_stdout(io.StringIO()):
        set_mutant_under_test("mutant_generation")
        copy_src_dir()
        create_mutants(1)
    os.environ.pop("MUTANT_UNDER_TEST")
    found = {}
    for spans in sorted(MADE.glob("*.py.spans")):
        source = Path("service/reckoning") / spans.stem
        if not source.exists():
            continue
        lines = spans.with_suffix("").read_text(encoding="utf-8").splitlines(keepends=True)
        module = ".".join(source.with_suffix("").parts)
        for name, (first, last) in json.loads(spans.read_text(encoding="utf-8"))["spans"].items():
            found[f"{module}.{name}"] = _mutant(module, name, "".join(lines[first - 1 : last]))
    return found


def _mutant(module: str, name: str, lines: str) -> Mutant:
    owner, _, function = name.partition("__mutmut_")[0].removeprefix("x").strip("ǁ").rpartition("ǁ")
    return Mutant(f"{module}.{name}", module, owner or None, function if owner else function.removeprefix("_"), lines)


def change_of(mutant: Mutant, every: Mapping[str, Mutant]) -> list[str]:
    """The lines that went and came, with - and + before them."""
    original = every[mutant.name.partition("__mutmut_")[0] + "__mutmut_orig"]
    lines = unified_diff(original.lines.splitlines(), mutant.lines.splitlines(), lineterm="", n=0)
    return [
        line for line in lines if line[0] in "+-" and "__mutmut_" not in line and not line.startswith(("+++", "---"))
    ]


def explained() -> list[Explained]:
    """What equivalent_mutants.txt says."""
    blocks = [block for block in EXPLAINED.read_text(encoding="utf-8").split("\n\n") if block.startswith("where: ")]
    return [Explained(*(line.partition(": ")[2] for line in block.strip().splitlines())) for block in blocks]


def interval(killed: int, tried: int) -> tuple[float, float]:
    """The 95 % interval of a share.

    >>> interval(90, 100)
    (0.8256, 0.9448)
    """
    z, share = 1.959964, killed / tried
    middle = (share + z * z / (2 * tried)) / (1 + z * z / tried)
    half = z * sqrt(share * (1 - share) / tried + z * z / (4 * tried * tried)) / (1 + z * z / tried)
    return round(middle - half, 4), round(middle + half, 4)


def told(fates: Mapping[str, str], every: Mapping[str, Mutant]) -> list[str]:
    """The survivors, and the figures."""
    known, lines, same = explained(), [], 0
    for name, fate in fates.items():
        if fate in DEAD:
            continue
        change = change_of(every[name], every)
        why = next((one.because for one in known if one.explains(every[name], change)), None)
        same += why is not None
        lines += [
            f"{fate:>12}  {name}{'' if why is None else f' (the same: {why})'}",
            *(f"    {one}" for one in change),
        ]
    killed, tried = sum(fate in DEAD for fate in fates.values()), len(fates)
    low, high = interval(killed, tried)
    lines.append(str(dict(Counter(fates.values()))))
    lines.append(f"{killed} of {tried} killed, {killed / tried:.1%}; 95 % interval {low:.1%} to {high:.1%}")
    others = tried - same
    low, high = interval(killed, others)
    lines.append(
        f"{same} that lived are the same as the original; of the {others} others {killed / others:.1%} are killed, "
        f"95 % interval {low:.1%} to {high:.1%}"
    )
    return lines


def main() -> None:
    """Draw, try, and tell."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--sample", type=int, help="how many to draw; all when left out")
    asked.add_argument("--seed", type=int, nargs="+", default=[1], help="of the draw; several for as many samples")
    asked.add_argument("--plain", action="store_true", help="without the property tests: quicker, and kills no more")
    asked.add_argument("--only", nargs="+", default=["*"], help="only those whose name has one of these patterns")
    asked.add_argument("--processes", type=int, default=1, help="how many to try at a time")
    options = asked.parse_args()
    every = made()
    names = sorted(name for name in every if not name.endswith("_orig"))
    names = [name for name in names if any(fnmatch(name, f"service.reckoning.{only}") for only in options.only)]
    many = min(options.sample or len(names), len(names))
    drawn = {seed: random.Random(seed).sample(names, many) for seed in options.seed}
    import pytest

    tried = dict.fromkeys(name for sample in drawn.values() for name in sample)
    trials = Trials([every[name] for name in tried], options.processes)
    plain = ("-m", "not hypothesis") if options.plain else ()
    pytest.main([*PYTEST, *plain, *ASKED], plugins=[trials])
    if trials.broken:
        raise SystemExit("\n".join(["These fail on the code as it is:", *trials.broken]))
    for seed, sample in drawn.items():
        fates = {name: trials.fates[name] for name in sample if name in trials.fates}
        if fates:
            print(f"Seed {seed}:", *told(fates, every), sep="\n")


if __name__ == "__main__":
    main()
