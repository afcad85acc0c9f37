"""Starting assumptions of the firm: an effect and how sure we are of it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

from valuation.errors import SettingsError
from valuation.features.columns import key
from valuation.schema import BY_NAME, Attribute

__all__ = ["NO_ASSUMPTIONS", "Assumed", "Assumptions", "default_assumptions", "read_assumptions"]


@dataclass(frozen=True, slots=True)
class Assumed:
    """One assumption on the log scale.

    Parameters
    ----------
    mean : float
        Log effect.
    sd : float
        Standard deviation of the log effect: how sure we are.
    """

    mean: float
    sd: float


@dataclass(frozen=True)
class Assumptions:
    """Assumed effects by attribute.

    Parameters
    ----------
    numbers : mapping of str to (float, Assumed)
        For a number: the step (in its unit) and the effect of that step.
    words : mapping of str to mapping of str to Assumed
        For a category or a set: the effect of each level against the baseline, or of each word.
    """

    numbers: Mapping[str, tuple[float, Assumed]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, Assumed]] = field(default_factory=dict)


NO_ASSUMPTIONS = Assumptions()
"""Evidence alone: nothing is assumed."""


def default_assumptions() -> Assumptions:
    """Return the weak defaults that come with the package."""
    source = resources.files("valuation") / "data" / "assumptions.toml"
    return _parse(tomllib.loads(source.read_text(encoding="utf-8")), "assumptions.toml")


def read_assumptions(path: Path) -> Assumptions:
    """Read a firm's own assumptions.

    Parameters
    ----------
    path : pathlib.Path
        TOML file; see ``valuation/data/assumptions.toml`` for the form.

    Returns
    -------
    Assumptions
        Checked.

    Raises
    ------
    SettingsError
        If the file can't be read or holds a wrong entry.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as e:
        raise SettingsError(
            path.name, "the assumptions can't be read", got=str(e.strerror), remedy="Check the path"
        ) from e
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as e:
        raise SettingsError(
            path.name, "this is not valid TOML", got=str(e), remedy="Mend the line named"
        ) from e
    return _parse(raw, path.name)


def _parse(raw: Mapping[str, Any], where: str) -> Assumptions:
    numbers: dict[str, tuple[float, Assumed]] = {}
    words: dict[str, dict[str, Assumed]] = {}
    for name, entry in raw.items():
        place = f"{where}, [{name}]"
        if name not in BY_NAME:
            raise SettingsError(
                place, "no such attribute", got=name, remedy="Use a name from the contract"
            )
        if not isinstance(entry, dict):
            raise SettingsError(place, "a table is wanted", got=repr(entry), remedy="Write [name]")
        if BY_NAME[name].kind == "number":
            step = _number(entry, "step", place)
            if step <= 0:
                raise SettingsError(
                    place, "the step must be above 0", got=f"{step:g}", remedy="Give a step"
                )
            numbers[name] = (step, _assumed(entry, place))
        else:
            words[name] = {
                _level(level, BY_NAME[name], place): _assumed(v, f"{place}, {level}")
                for level, v in sorted(entry.items())
            }
    return Assumptions(numbers, words)


def _level(level: str, a: Attribute, place: str) -> str:
    """Return a level as it is counted; refuse one that no sale could ever have."""
    word = key(level)
    if word == a.baseline:
        raise SettingsError(
            place,
            "the others are measured against this level, so it has no effect of its own",
            got=level,
            remedy="Leave it out",
        )
    known = _parts_of(a.levels) if a.name == "modifications" else a.levels
    if known and word not in known:
        raise SettingsError(
            place, "no such level", got=level, remedy=f"Use one of: {'; '.join(known)}"
        )
    return word


def _parts_of(levels: tuple[str, ...]) -> tuple[str, ...]:
    """Return the kinds and manners of modifications: an effect is assumed of each by itself."""
    parts = [v.partition("/") for v in levels]
    return tuple(dict.fromkeys([p[0] for p in parts] + [p[2] for p in parts]))


def _assumed(entry: Any, place: str) -> Assumed:
    if not isinstance(entry, dict):
        raise SettingsError(
            place,
            "an effect and how sure we are of it are wanted",
            got=repr(entry),
            remedy="Write { effect_percent = ..., give_or_take_percent = ... }",
        )
    effect = _number(entry, "effect_percent", place)
    spread = _number(entry, "give_or_take_percent", place)
    if not -95 <= effect <= 2000:
        raise SettingsError(
            place,
            "effect_percent must lie between -95 and 2000",
            got=f"{effect:g}",
            remedy="Give the change of price in per cent",
        )
    if not 0 < spread <= 500:
        raise SettingsError(
            place,
            "give_or_take_percent must lie above 0 and up to 500",
            got=f"{spread:g}",
            remedy="Say how far the effect may be off, in per cent of the price",
        )
    return Assumed(math.log1p(effect / 100), math.log1p(spread / 100))


def _number(entry: Mapping[str, Any], name: str, place: str) -> float:
    value = entry.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise SettingsError(
            place,
            f"{name} must be a number",
            got="nothing" if value is None else repr(value),
            remedy=f"Write {name} = a number",
        )
    return float(value)
