"""With hardly anything assumed the fit is the Poisson regression of other software."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from valuation.features.assumptions import Assumed
from valuation.stocking.effects import OTHER_CARS, Effects
from valuation.stocking.settings import default_stock_settings
from valuation.stocking.spells import Spell
from valuation.stocking.survival import pieces_of, posterior

HERE = Path(__file__).parent
OPEN, SHUT = 1e3, 1e-5


def test_estimates_and_standard_errors() -> None:
    expected = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))
    rows = np.loadtxt(HERE / "spells.csv", delimiter=",", skiprows=1)
    spells = [
        Spell(
            int(car),
            OTHER_CARS,
            grade,
            date(2023, 1, 1) + timedelta(days=int(listed)),
            int(days),
            int(listed),
            int(listed > 0),
            ask,
            bool(sold),
        )
        for car, listed, days, grade, ask, sold in rows.tolist()
    ]
    assumed = replace(
        default_stock_settings().assumptions,
        base=Assumed(-4.0, OPEN),
        steps=((30, Assumed(0.0, OPEN)),),
        condition=Assumed(0.0, OPEN),
        elasticity=Assumed(1.5, OPEN),
        error=Assumed(math.log(SHUT), SHUT),
        sees=Assumed(-20.0, SHUT),
        swing=Assumed(0.0, SHUT),
        segment_base=SHUT,
        segment_elasticity=SHUT,
        segment_season=SHUT,
    )
    effects = Effects(assumed, (OTHER_CARS,))
    found = posterior(pieces_of(spells, effects), effects)
    at = {"base": 0, "step": 1, "condition": effects.condition}
    errors = np.sqrt(np.diag(found.covariance))
    for name, place in at.items():
        assert found.mean[place] == pytest.approx(expected["estimate"][name], abs=2e-5)
        assert errors[place] == pytest.approx(expected["standard_error"][name], rel=1e-4)
    pull = math.exp(found.mean[effects.elasticity])
    assert -pull == pytest.approx(expected["estimate"]["ask"], rel=1e-4)
    # The error of a log is the error over what it is the log of.
    error = pull * errors[effects.elasticity]
    assert error == pytest.approx(expected["standard_error"]["ask"], rel=1e-3)
    assert expected["sales"] == sum(s.sold for s in spells)
