"""The first thing that runs: `python3 -m service VERB`, by whichever Python is at hand.

Pythons too old for the rest must still be able to read this file and say so: nothing of ours is imported before the
version is known to be right, and annotations newer than they are stand in quotes.
"""

import os
import sys
from pathlib import Path

OLDEST = (3, 11)


def too_old(version: "tuple[int, ...]") -> str:
    """One sentence if a Python of this version cannot run the program, else nothing."""
    if version[:2] >= OLDEST:
        return ""
    told = ".".join(str(part) for part in version[:3])
    return "Stopline needs Python 3.11 or newer, and this is Python " + told + ": start it with a newer one."


def start(arguments: "list[str]") -> int:
    """Set up what is missing, then do what was asked; gives the exit code."""
    from service import setting_up

    try:
        if arguments[:1] == ["test"]:
            from service import testing

            return testing.run_tests(setting_up.prepare(setting_up.TOP, setting_up.ALL_PINS), arguments[1:])
        python = setting_up.prepare(setting_up.TOP)
        if arguments[:1] == ["bench"]:
            from service import testing

            return testing.run_bench(python, arguments[1:])
        return 0 if arguments[:1] == ["prepare"] else hand_over(python, arguments)
    except setting_up.CannotSetUp as refused:
        print(refused, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def hand_over(python: Path, arguments: "list[str]") -> int:
    """Let the program itself go on, in the Python that has its packages."""
    if Path(sys.prefix).samefile(python.parent.parent):
        from service.cli import main

        return main(arguments)
    command = [str(python), "-m", "service.cli", *arguments]
    if os.name != "nt":
        os.execv(command[0], command)
    import subprocess

    return subprocess.call(command)


if __name__ == "__main__":
    sys.exit(too_old(sys.version_info[:3]) or start(sys.argv[1:]))
