"""Read a file in, in a process that is killed at a named step: run as a script, once for all steps.

``python broken_off.py FILE WORKSPACE STEP [WORKSPACE STEP ...]``: for each pair a child process
reads the file into the workspace and kills itself at the step.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from evidence_files import LATER
from filelock import FileLock

from valuation.evidence import opening, sales_in
from valuation.evidence.workspace import Workspace

STEPS = (
    "before the copy",
    "after the copy",
    "with the rows in",
    "with the journal ahead",
    "after the commit",
    "before the lock is free",
)


def die() -> None:
    """End this process as a failing machine ends it."""
    os.kill(os.getpid(), signal.SIGKILL)


def _then_die(act: Callable[..., Any]) -> Callable[..., Any]:
    def acted(*of: Any, **more: Any) -> None:
        act(*of, **more)
        die()

    return acted


def arm(step: str) -> None:
    """Let this process die at a step."""
    if step == "before the copy":
        sales_in.keep = lambda *_: die()
    elif step == "after the copy":
        sales_in.keep = _then_die(sales_in.keep)
    elif step == "with the rows in":
        sales_in.put_read_file = _then_die(sales_in.put_read_file)
    elif step == "with the journal ahead":
        opening.seal = _then_die(opening.seal)
    elif step == "after the commit":
        replace = Path.replace

        def replaced(self: Path, target: Path) -> Path:
            if self.suffix == ".unfinished":
                die()
            return replace(self, target)

        Path.replace = replaced
    else:
        FileLock.release = lambda *_, **__: die()


def main(file: str, *pairs: str) -> None:
    """Kill one child for each workspace and step."""
    for root, step in zip(pairs[::2], pairs[1::2], strict=True):
        child = os.fork()
        if child == 0:
            arm(step)
            sales_in.import_sales(Workspace(Path(root)), [file], who="Ada", now=LATER)
            os._exit(0)
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{step} {os.waitstatus_to_exitcode(status)}\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
