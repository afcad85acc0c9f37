"""A copy of a workspace on which a month can be tried."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from valuation.evidence.opening import reading
from valuation.evidence.workspace import Workspace

__all__ = ["scratch_copy"]


@contextmanager
def scratch_copy(workspace: Workspace) -> Iterator[Workspace]:
    """Give a copy of the evidence that goes when it is left.

    Parameters
    ----------
    workspace : Workspace
        What is copied: database and journal.  Kept files and published models are left where they
        are.

    Yields
    ------
    Workspace
        The copy; what was said before is known in it.
    """
    with tempfile.TemporaryDirectory(prefix="valuation-") as folder:
        copy = Workspace(Path(folder))
        if workspace.database.exists():
            with reading(workspace):  # nobody writes meanwhile
                shutil.copy2(workspace.database, copy.database)
                if workspace.journal.is_dir():
                    shutil.copytree(workspace.journal, copy.journal)
        if workspace.said.is_dir():
            shutil.copytree(workspace.said, copy.said)
        yield copy
