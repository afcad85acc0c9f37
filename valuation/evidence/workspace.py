"""The folder in which a firm keeps its evidence, and what lies where in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from valuation.errors import EvidenceError, SettingsError

__all__ = ["ENVIRONMENT", "Workspace", "workspace_at"]

ENVIRONMENT = "VALUATION_WORKSPACE"
"""Variable of the environment that names the folder where the command line doesn't."""


@dataclass(frozen=True, slots=True)
class Workspace:
    """A folder of evidence.

    Parameters
    ----------
    root : pathlib.Path
        The folder.
    """

    root: Path

    @property
    def database(self) -> Path:
        """Database of the evidence."""
        return self.root / "evidence.duckdb"

    @property
    def lock(self) -> Path:
        """File that whoever changes the evidence holds."""
        return self.root / "evidence.lock"

    @property
    def holder(self) -> Path:
        """Note beside the lock: who holds it, since when, doing what."""
        return self.root / "evidence.holder.json"

    @property
    def journal(self) -> Path:
        """Folder of changes by people, one small file each, from which a store is made again."""
        return self.root / "journal"

    @property
    def inbox(self) -> Path:
        """Folder in which files wait to be read in."""
        return self.root / "inbox"

    @property
    def kept(self) -> Path:
        """Folder of the files that were read in, named by their hash."""
        return self.root / "files"

    @property
    def said(self) -> Path:
        """Folder of the estimates that were given."""
        return self.root / "said"

    @property
    def published(self) -> Path:
        """Folder of the models that are in use or were."""
        return self.root / "published"

    @property
    def settings(self) -> Path:
        """Settings of the monthly work."""
        return self.root / "settings.toml"

    @property
    def stock_settings(self) -> Path:
        """Settings of the stock, if the firm has its own."""
        return self.root / "stock.toml"

    @property
    def work(self) -> Path:
        """Folder of files that are not finished; nothing in it is needed after a break."""
        return self.root / "work"


def workspace_at(
    named: str | Path | None, environment: Mapping[str, str], *, make: bool = False
) -> Workspace:
    """Return the workspace that the command line or the environment names.

    Parameters
    ----------
    named : str or pathlib.Path, optional
        Folder that the command line names.
    environment : mapping of str to str
        Of the process; ``VALUATION_WORKSPACE`` counts where `named` is missing.
    make : bool
        Whether the folder is made if it isn't there.

    Returns
    -------
    Workspace
        A folder that exists.

    Raises
    ------
    SettingsError
        If neither names a folder.
    EvidenceError
        If it doesn't exist, is no folder or can't be made.
    """
    folder = str(named or environment.get(ENVIRONMENT, "")).strip()
    if not folder:
        raise SettingsError(
            "workspace",
            "no folder of evidence is named",
            remedy=f"Name it with --workspace DIR or in the environment variable {ENVIRONMENT}",
        )
    root = Path(folder).expanduser()
    if make:
        _make(root)
    if not root.is_dir():
        problem = "it is no folder" if root.exists() else "there is no such workspace"
        raise EvidenceError(
            folder,
            problem,
            remedy="Check its name, or make it by reading in a first file: valuation import FILE",
        )
    return Workspace(root)


def _make(root: Path) -> None:
    try:
        root.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise EvidenceError(
            str(root),
            "the workspace can't be made there",
            got=error.strerror or type(error).__name__,
            remedy="Name a folder that you may write to",
        ) from error
