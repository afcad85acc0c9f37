"""The command ``index`` with a stock ledger beside the model."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest

from valuation.appraisal.market import MarketModel
from valuation.cli.command import main
from valuation.evidence.ledger_in import import_ledger
from valuation.evidence.workspace import workspace_at
from valuation.store.modelfile import save_model

HEADER = "date,stock,event,amount,currency,chassis,make,model,year"


def test_days_to_sell_come_from_the_ledger_of_a_workspace(
    tiny_market: MarketModel, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    frame = tiny_market.frame
    keys = pd.Series([f"b:{i}" for i in range(len(frame))], dtype=object)
    frame = frame.assign(sale_key=keys)
    model = save_model(replace(tiny_market, frame=frame), tmp_path / "market.model")
    own = frame[(frame["outcome"] == "sold") & frame["chassis"].notna()].iloc[-12:]
    lines = []
    for i, (_, sale) in enumerate(own.iterrows()):
        car = f"{sale['chassis']},{sale['make']},{sale['model']},{sale['year']:.0f}"
        sold = sale["sale_date"].date()
        lines += [
            f"{sold - timedelta(days=40 + i)},H-{i},listed,,,{car}",
            f"{sold},H-{i},sold,{sale['price']:.2f},EUR,{car}",
        ]
    path = tmp_path / "ledger.csv"
    path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
    workspace = workspace_at(tmp_path / "firm", {}, make=True)
    now = datetime(2025, 1, 2, tzinfo=UTC)
    assert not import_ledger(workspace, [path], who="Ada", now=now).refused
    words = ["index", "--model", str(model), "--all-cars", "--json"]
    assert main([*words, "--workspace", str(workspace.root)]) == 0
    index = json.loads(capsys.readouterr().out)["segments"][-1]
    told = [m["days_to_sell"] for m in index["months"] if m["days_to_sell"]]
    assert told
    assert all(40 <= d["low"] <= d["median"] <= d["high"] <= 51 for d in told)
    assert main(words) == 0
    index = json.loads(capsys.readouterr().out)["segments"][-1]
    assert not any(m["days_to_sell"] for m in index["months"])
