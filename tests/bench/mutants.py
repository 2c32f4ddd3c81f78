"""How many mutants of the reckoning its own tests kill, on a random sample or on all of them.

`python -m tests.bench.mutants --sample 400 --seed 1` makes every mutant of service/reckoning in ./mutants (git passes
over it), draws so many by chance, runs on each the tests of the core that come by it, and prints the survivors and the
share killed with its 95 % interval (Wilson, "Probable inference", 1927). One that runs out of time is killed; one that
no test comes by has lived. Without `--sample` all are tried, which takes most of a day on one processor.
`mutmut show NAME` shows what a survivor changed.
"""

import argparse
import random
from collections import Counter
from math import sqrt

KILLED = frozenset({"killed", "timeout", "segfault", "caught by type check"})


def names_of_all() -> list[str]:
    """Make every mutant that is not made yet, and name them in one order."""
    from mutmut.__main__ import collect_source_file_mutation_data, create_mutants
    from mutmut.mutation.trampoline import set_mutant_under_test
    from mutmut.utils.file_utils import copy_also_copy_files, copy_src_dir, setup_source_paths

    set_mutant_under_test("mutant_generation")
    copy_src_dir()
    copy_also_copy_files()
    setup_source_paths()
    create_mutants(1)
    return sorted(name for _, name, _ in collect_source_file_mutation_data(mutant_names=[])[0])


def fates(names: list[str]) -> dict[str, str]:
    """What became of each of these."""
    from mutmut.__main__ import collect_source_file_mutation_data
    from mutmut.stats import status_by_exit_code

    found, _ = collect_source_file_mutation_data(mutant_names=names)
    return {name: status_by_exit_code[code] for _, name, code in found}


def interval(killed: int, tried: int) -> tuple[float, float]:
    """The 95 % interval of a share.

    >>> interval(90, 100)
    (0.8256, 0.9448)
    """
    z, share = 1.959964, killed / tried
    middle = (share + z * z / (2 * tried)) / (1 + z * z / tried)
    half = z * sqrt(share * (1 - share) / tried + z * z / (4 * tried * tried)) / (1 + z * z / tried)
    return round(middle - half, 4), round(middle + half, 4)


def main() -> None:
    """Draw, try, and tell; mutmut is imported late, because it settles how processes start."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--sample", type=int, help="how many to draw; all when left out")
    asked.add_argument("--seed", type=int, default=1, help="of the draw")
    asked.add_argument("--processes", type=int, default=1, help="how many to try at a time")
    options = asked.parse_args()
    names = names_of_all()
    if options.sample:
        names = sorted(random.Random(options.seed).sample(names, options.sample))
    from mutmut.__main__ import _run

    _run(tuple(names), max_children=options.processes)
    came = fates(names)
    for name in names:
        if came[name] not in KILLED:
            print(f"{came[name]:>12}  {name}")
    killed = sum(fate in KILLED for fate in came.values())
    low, high = interval(killed, len(names))
    print(dict(Counter(came.values())))
    print(f"{killed} of {len(names)} killed, {killed / len(names):.1%}; 95 % interval {low:.1%} to {high:.1%}")


if __name__ == "__main__":
    main()
