"""Run the command again and again, each time in a fork of this process, which has loaded it.

A run of the command spends three seconds on loading libraries; a fork has them.  What runs in the
fork is the whole command, from its words to the end of its process.

One request a line on the standard input, ``{"words": [...], "out": FILE, "err": FILE, "lean":
false}``; a lean run fits models of few columns with few forecasts, for tests that need many fits.
Two answers a line on the standard output: the number of the process, and what it ended with.
"""

from __future__ import annotations

import gc
import json
import os
import sys
from importlib import import_module
from pkgutil import iter_modules
from typing import Any, TextIO

import valuation.cli
from valuation.appraisal.settings import ModelSettings
from valuation.features.settings import FeatureSettings
from valuation.refresh import month

LEAN = ModelSettings(features=FeatureSettings(words=False, local=False), origins=1)


def load() -> None:
    """Load every command."""
    for module in iter_modules(valuation.cli.__path__):
        import_module(f"valuation.cli.{module.name}")


def become(request: dict[str, Any]) -> list[str]:
    """Let this process write where the request says, and return the words of its command."""
    for number, name in ((1, "out"), (2, "err")):
        file = os.open(request[name], os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        os.dup2(file, number)
        os.close(file)
    if request["lean"]:
        month.model_settings = lambda settings: LEAN
    words: list[str] = request["words"]
    sys.argv = ["valuation", *words]
    return words


def serve(requests: TextIO, answers: TextIO) -> list[str] | None:
    """Answer until there are no more requests; in a fork, return the words of its command."""
    for line in requests:
        child = os.fork()
        if not child:
            return become(json.loads(line))
        print(child, file=answers, flush=True)
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), file=answers, flush=True)
    return None


def start() -> None:
    """Load, serve, and in a fork run the command."""
    requests = os.fdopen(os.dup(0), encoding="utf-8")
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    load()
    gc.freeze()
    words = serve(requests, answers)
    requests.close()
    answers.close()
    if words is not None:
        sys.exit(valuation.cli.main(words))


if __name__ == "__main__":
    start()
