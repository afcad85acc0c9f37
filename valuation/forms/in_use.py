"""What forms of a firm start from: its workspace, and the model that is in use."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from valuation.appraisal.market import MarketModel, fit_market
from valuation.errors import ValuationError
from valuation.evidence.workspace import ENVIRONMENT, Workspace, workspace_at
from valuation.importing.sales import read_sales
from valuation.store.modelfile import load_model, save_model
from valuation.store.published import current_version, model_file

__all__ = ["market_in_use", "workspace_in_use"]


def workspace_in_use(
    named: str | Path | None, environment: Mapping[str, str] | None
) -> Workspace | None:
    """Return the workspace that is named or that the environment names, None without either.

    Parameters
    ----------
    named : path-like or None
        Its folder.
    environment : mapping of str to str or None
        Of the process; its ``VALUATION_WORKSPACE`` counts where no folder is named.

    Raises
    ------
    EvidenceError
        If there is no such workspace.
    """
    environment = environment or {}
    if not named and not environment.get(ENVIRONMENT, "").strip():
        return None
    return workspace_at(named, environment)


def market_in_use(
    model: str | Path | None, workspace: Workspace | None, sales: str | Path | None
) -> tuple[MarketModel, str]:
    """Return the model in use and the name of its version, empty for a file by itself.

    Parameters
    ----------
    model : path-like or None
        Model file, or folder to which models are published; that of the workspace by default.
    workspace : Workspace or None
        The firm's evidence.
    sales : path-like or None
        Sales from which a model is learned and kept as `model` if there is none yet.

    Raises
    ------
    ValuationError
        If none is named, or it can't be read.
    """
    named = model or (workspace.published if workspace else None)
    if named is None:
        raise ValuationError(
            "model", "none is named", remedy="Name a model file or the folder of published models"
        )
    path = Path(named)
    if sales and not path.exists():
        save_model(fit_market(read_sales(sales)), path)
    published = current_version(path) if path.is_dir() else None
    return load_model(model_file(path)), published.version if published else ""
