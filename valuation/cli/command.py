"""From a command line to an exit code; nothing heavy is imported before a command runs."""

from __future__ import annotations

import importlib
import keyword
import os
import sys
from argparse import Namespace
from collections.abc import Sequence

from valuation.cli.parser import build_parser
from valuation.errors import ValuationError
from valuation.files import page_kind

__all__ = ["main"]

_FAULT = 2
_STOPPED = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Words after the name of the program; those of the process if not given.

    Returns
    -------
    int
        0 if all went well, 2 after a fault that the user can mend (one sentence on the error
        stream), 1 if nobody reads the output any more, 130 if the user stopped it.
    """
    arguments = build_parser().parse_args(argv)
    try:
        _check_pages(arguments)
        # Every command is a module of this room with a function `run`: only the one that was
        # asked for is loaded, so that `--help` answers at once.
        command = importlib.import_module(f"valuation.cli.{module_of(arguments.command)}")
        command.run(arguments)
        sys.stdout.flush()
    except ValuationError as error:
        return _complain(str(error))
    except BrokenPipeError:
        # The interpreter flushes once more at its end; give it a stream that takes it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _complain(f"{where}{error.strerror or error}.")
    except KeyboardInterrupt:
        print("valuation: stopped.", file=sys.stderr)
        return _STOPPED
    return 0


def module_of(command: str) -> str:
    """Return the name of the module of a command: what Python has no name for is written ``_``.

    Examples
    --------
    >>> module_of("read-listing"), module_of("import")
    ('read_listing', 'import_')
    """
    name = command.replace("-", "_")
    return f"{name}_" if keyword.iskeyword(name) else name


def _check_pages(arguments: Namespace) -> None:
    """Refuse names of pages that can't be written before work is done for them."""
    if getattr(arguments, "page", None):
        page_kind(arguments.page)
    if getattr(arguments, "sheets", None):
        page_kind(arguments.sheets, kinds=("html",))


def _complain(sentence: str) -> int:
    print(f"valuation: {sentence}", file=sys.stderr)
    return _FAULT
