"""Encoders and settings as plain data and back; nothing that is loaded can run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from valuation.appraisal.settings import ModelSettings
from valuation.features.calendar import Stretches, Walk
from valuation.features.encoders import (
    Crossed,
    Curve,
    Encoder,
    Levels,
    Members,
    Ones,
    Silent,
    Straight,
)
from valuation.features.settings import FeatureSettings
from valuation.features.terms import FeatureSpec, Term
from valuation.features.usual import UsualValues
from valuation.models.comparables import ComparableSettings

__all__ = ["settings_from_plain", "settings_to_plain", "spec_from_plain", "spec_to_plain"]

_ENCODERS: dict[str, type[Encoder]] = {
    c.kind: c for c in (Ones, Straight, Curve, Silent, Levels, Members, Stretches, Walk, Crossed)
}


def _flat(record: Any) -> dict[str, Any]:
    """Return the fields of a dataclass as plain values, one level deep."""
    return {f.name: _plain(getattr(record, f.name)) for f in fields(record) if f.init}


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _encoder_to_plain(encoder: Encoder) -> dict[str, Any]:
    out = {"kind": encoder.kind, **_flat(encoder)}
    if isinstance(encoder, Crossed):
        out["inner"] = _encoder_to_plain(encoder.inner)
    return out


def _encoder_from_plain(data: Mapping[str, Any]) -> Encoder:
    cls = _ENCODERS[data["kind"]]
    values: dict[str, Any] = {
        k: tuple(v) if isinstance(v, list) else v for k, v in data.items() if k != "kind"
    }
    if cls is Crossed:
        values["inner"] = _encoder_from_plain(data["inner"])
    return cls(**values)


def spec_to_plain(spec: FeatureSpec) -> dict[str, Any]:
    """Return a feature spec as plain data."""
    terms = [{**_flat(t), "encoder": _encoder_to_plain(t.encoder)} for t in spec.terms]
    usual = [
        # JSON knows no NaN: a missing number is null.
        {
            "name": u.name,
            "number": u.number,
            "values": [None if v != v else v for v in u.values],
            "levels": list(u.levels),
            "by_make": [list(pair) for pair in u.by_make],
        }
        for u in spec.usual
    ]
    return {"terms": terms, "lines": list(spec.lines), "usual": usual}


def spec_from_plain(data: Mapping[str, Any]) -> FeatureSpec:
    """Return the feature spec that was written as plain data."""
    terms = tuple(
        Term(
            t["name"],
            t["attribute"],
            _encoder_from_plain(t["encoder"]),
            t["penalty"],
            tuple(t["mean"]),
            tuple(t["sd"]),
            t.get("least", 0.0),
        )
        for t in data["terms"]
    )
    usual = tuple(
        UsualValues(
            u["name"],
            u["number"],
            tuple(float("nan") if v is None else v for v in u["values"]),
            tuple(u["levels"]),
            tuple((make, value) for make, value in u["by_make"]),
        )
        for u in data["usual"]
    )
    return FeatureSpec(terms, tuple(data["lines"]), usual)


def settings_to_plain(settings: ModelSettings) -> dict[str, Any]:
    """Return model settings as plain data."""
    return {
        **_flat(settings),
        "features": _flat(settings.features),
        "comparables": _flat(settings.comparables),
    }


def settings_from_plain(data: Mapping[str, Any]) -> ModelSettings:
    """Return the model settings that were written as plain data."""
    values = dict(data)
    values["features"] = FeatureSettings(**values["features"])
    values["comparables"] = ComparableSettings(**values["comparables"])
    return ModelSettings(**values)
