"""Settings of the firm's stock as its workspace has them."""

from __future__ import annotations

from pathlib import Path

from valuation.evidence.workspace import Workspace
from valuation.refresh.settings import read_month_settings
from valuation.stocking.settings import (
    StockSettings,
    default_stock_settings,
    read_stock_settings,
)
from valuation.study.segments import Segment, segments_of

__all__ = ["segments_in", "stock_settings"]


def stock_settings(named: str | Path | None, workspace: Workspace | None) -> StockSettings:
    """Return the stock settings: those named, else those of the workspace, else the usual ones.

    Parameters
    ----------
    named : path-like or None
        File of the firm's own.
    workspace : Workspace or None
        Whose ``stock.toml`` counts where none is named.

    Raises
    ------
    SettingsError
        If the file can't be read or is wrong.
    """
    if named:
        return read_stock_settings(Path(named))
    if workspace is not None and workspace.stock_settings.is_file():
        return read_stock_settings(workspace.stock_settings)
    return default_stock_settings()


def segments_in(workspace: Workspace) -> tuple[Segment, ...]:
    """Return the kinds of cars that the settings of a workspace name.

    Parameters
    ----------
    workspace : Workspace
        The evidence.
    """
    own = read_month_settings(workspace.settings).segments
    return segments_of(own) if own else ()
