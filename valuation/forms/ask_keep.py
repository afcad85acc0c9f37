"""Where pages for the firm only are kept: never among the sheets of customers."""

from __future__ import annotations

from pathlib import Path

from valuation.errors import SettingsError

__all__ = ["keep_apart"]


def keep_apart(folder: str | Path, sheets: str | Path) -> None:
    """Refuse a folder for internal pages that a customer's sheet may be sent from.

    Parameters
    ----------
    folder : path-like
        Where internal pages are to be kept; it need not be there yet.
    sheets : path-like
        Folder of customer sheets.

    Raises
    ------
    SettingsError
        If the one is the other, by whatever name, or lies within it.
    """
    here, there = Path(folder).resolve(), Path(sheets).resolve()
    if any(_same(above, there) for above in (here, *here.parents)):
        raise SettingsError(
            "Folder of internal pages",
            "it is the folder of customer sheets, or lies within it",
            got=here.name,
            remedy="Set KEEP_INTERNAL at the top to a folder of its own",
        )


def _same(one: Path, other: Path) -> bool:
    # On some disks one folder has several spellings of its name.
    return one == other or (one.exists() and other.exists() and one.samefile(other))
