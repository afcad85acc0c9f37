"""Starting assumptions: the defaults, a firm's own file, and what is refused."""

from __future__ import annotations

import math
import re
import tomllib
from importlib import resources
from pathlib import Path

import pytest

from valuation.errors import SettingsError
from valuation.features.assumptions import (
    NO_ASSUMPTIONS,
    Assumed,
    Assumptions,
    default_assumptions,
    read_assumptions,
)
from valuation.schema import BY_NAME, MODIFICATION_KINDS


def read(tmp_path: Path, text: str) -> Assumptions:
    path = tmp_path / "ours.toml"
    path.write_text(text, encoding="utf-8")
    return read_assumptions(path)


def refused(tmp_path: Path, text: str) -> str:
    with pytest.raises(SettingsError) as caught:
        read(tmp_path, text)
    return str(caught.value)


# The defaults


@pytest.fixture(scope="module")
def defaults() -> Assumptions:
    return default_assumptions()


def test_every_name_of_the_defaults_is_in_the_contract(defaults: Assumptions) -> None:
    assert defaults.numbers
    assert defaults.words
    assert all(BY_NAME[n].kind == "number" for n in defaults.numbers)
    assert all(BY_NAME[n].kind != "number" for n in defaults.words)


def test_every_level_of_the_defaults_is_in_the_contract(defaults: Assumptions) -> None:
    for name, words in defaults.words.items():
        levels = set(BY_NAME[name].levels)
        if name == "modifications":
            levels = {v.partition("/")[2] for v in levels} | set(MODIFICATION_KINDS)
        assert set(words) <= levels, name
        assert BY_NAME[name].baseline not in words


def test_every_default_leaves_room_for_evidence(defaults: Assumptions) -> None:
    every = [a for _, a in defaults.numbers.values()]
    every += [a for words in defaults.words.values() for a in words.values()]
    assert len(every) > 40
    for a in every:
        assert math.isfinite(a.mean)
        assert 0.01 < a.sd < 1.0


def test_every_category_but_the_baseline_has_an_assumption(defaults: Assumptions) -> None:
    """A level left out would be held by evidence alone, unlike its neighbours."""
    for name, words in defaults.words.items():
        a = BY_NAME[name]
        if a.kind == "category":
            assert set(words) | {a.baseline} == set(a.levels), name


def test_certain_directions_are_assumed_so(defaults: Assumptions) -> None:
    for name, (step, effect) in defaults.numbers.items():
        assert step * effect.mean * BY_NAME[name].direction > 0


def test_the_defaults_are_read_as_written(defaults: Assumptions) -> None:
    source = resources.files("valuation") / "data" / "assumptions.toml"
    raw = tomllib.loads(source.read_text(encoding="utf-8"))
    assert set(raw) == set(defaults.numbers) | set(defaults.words)
    tribute = raw["genuineness"]["tribute"]
    found = defaults.words["genuineness"]["tribute"]
    assert found.mean == pytest.approx(math.log1p(tribute["effect_percent"] / 100))
    assert found.sd == pytest.approx(math.log1p(tribute["give_or_take_percent"] / 100))


def test_nothing_assumed() -> None:
    assert not NO_ASSUMPTIONS.numbers
    assert not NO_ASSUMPTIONS.words


# A firm's own file

GOOD = """
[mileage]
step = 10000
effect_percent = -3
give_or_take_percent = 2

[documents]
Bills = { effect_percent = 10, give_or_take_percent = 5 }

[colour]
"Sea  Green" = { effect_percent = 0, give_or_take_percent = 12.5 }
"""


def test_a_firms_own_file(tmp_path: Path) -> None:
    found = read(tmp_path, GOOD)
    assert found.numbers == {"mileage": (10_000.0, Assumed(math.log1p(-0.03), math.log1p(0.02)))}
    # Words are counted in lower case with single blanks, here as in the sales.
    assert found.words == {
        "documents": {"bills": Assumed(math.log1p(0.1), math.log1p(0.05))},
        "colour": {"sea green": Assumed(0.0, math.log1p(0.125))},
    }


def test_modifications_by_kind_and_by_manner(tmp_path: Path) -> None:
    effect = "{ effect_percent = -5, give_or_take_percent = 5 }"
    text = f'[modifications]\nbrakes = {effect}\n"permanent/later" = {effect}\n'
    assert set(read(tmp_path, text).words["modifications"]) == {"brakes", "permanent/later"}


def test_an_empty_file_assumes_nothing(tmp_path: Path) -> None:
    assert read(tmp_path, "") == NO_ASSUMPTIONS


# What is refused

EFFECT = "{ effect_percent = 1, give_or_take_percent = 2 }"

WRONG = {
    "no such attribute": (
        "[wings]\nstep = 1",
        "ours.toml, [wings]: no such attribute (got: wings). Use a name from the contract.",
    ),
    "no table": (
        "mileage = 5",
        "ours.toml, [mileage]: a table is wanted (got: 5). Write [name].",
    ),
    "no step": (
        "[mileage]\neffect_percent = 1\ngive_or_take_percent = 2",
        "ours.toml, [mileage]: step must be a number (got: nothing). Write step = a number.",
    ),
    "a word for a step": (
        '[mileage]\nstep = "ten"\neffect_percent = 1\ngive_or_take_percent = 2',
        "ours.toml, [mileage]: step must be a number (got: 'ten'). Write step = a number.",
    ),
    "a step of nothing": (
        "[mileage]\nstep = 0\neffect_percent = 1\ngive_or_take_percent = 2",
        "ours.toml, [mileage]: the step must be above 0 (got: 0). Give a step.",
    ),
    "no effect": (
        "[mileage]\nstep = 5\ngive_or_take_percent = 2",
        "ours.toml, [mileage]: effect_percent must be a number (got: nothing). "
        "Write effect_percent = a number.",
    ),
    "true for a number": (
        "[colour]\nred = { effect_percent = true, give_or_take_percent = 2 }",
        "ours.toml, [colour], red: effect_percent must be a number (got: True). "
        "Write effect_percent = a number.",
    ),
    "no end": (
        "[colour]\nred = { effect_percent = inf, give_or_take_percent = 2 }",
        "ours.toml, [colour], red: effect_percent must be a number (got: inf). "
        "Write effect_percent = a number.",
    ),
    "less than nothing left": (
        "[colour]\nred = { effect_percent = -96, give_or_take_percent = 2 }",
        "ours.toml, [colour], red: effect_percent must lie between -95 and 2000 (got: -96). "
        "Give the change of price in per cent.",
    ),
    "an effect beyond reason": (
        "[colour]\nred = { effect_percent = 2001, give_or_take_percent = 2 }",
        "ours.toml, [colour], red: effect_percent must lie between -95 and 2000 (got: 2001). "
        "Give the change of price in per cent.",
    ),
    "certainty": (
        "[colour]\nred = { effect_percent = 1, give_or_take_percent = 0 }",
        "ours.toml, [colour], red: give_or_take_percent must lie above 0 and up to 500 (got: 0). "
        "Say how far the effect may be off, in per cent of the price.",
    ),
    "no idea at all": (
        "[colour]\nred = { effect_percent = 1, give_or_take_percent = 501 }",
        "ours.toml, [colour], red: give_or_take_percent must lie above 0 and up to 500 (got: 501). "
        "Say how far the effect may be off, in per cent of the price.",
    ),
    "a number for a pair": (
        "[colour]\nred = 5",
        "ours.toml, [colour], red: an effect and how sure we are of it are wanted (got: 5). "
        "Write { effect_percent = ..., give_or_take_percent = ... }.",
    ),
    "a misspelt level": (
        f"[transmission]\nautomatik = {EFFECT}",
        "ours.toml, [transmission]: no such level (got: automatik). Use one of: manual; automatic; "
        "semi-automatic; dual-clutch; continuously variable.",
    ),
    "the baseline": (
        f"[transmission]\nManual = {EFFECT}",
        "ours.toml, [transmission]: the others are measured against this level, so it has no "
        "effect of its own (got: Manual). Leave it out.",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_entry_is_one_sentence(tmp_path: Path, case: str) -> None:
    text, sentence = WRONG[case]
    assert refused(tmp_path, text) == sentence


def test_a_whole_modification_is_refused(tmp_path: Path) -> None:
    """Its kind and its manner each have an effect; the two together have none to assume."""
    said = refused(tmp_path, f'[modifications]\n"brakes/reversible/later" = {EFFECT}')
    assert said.startswith(
        "ours.toml, [modifications]: no such level (got: brakes/reversible/later). "
        "Use one of: engine; fuel system; "
    )
    assert said.endswith("exhaust; reversible/period; reversible/later; permanent/period; "
                         "permanent/later.")  # fmt: skip


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(SettingsError) as caught:
        read_assumptions(tmp_path / "none.toml")
    assert str(caught.value) == (
        "none.toml: the assumptions can't be read (got: No such file or directory). Check the path."
    )


@pytest.mark.parametrize("content", [b"[mileage", b"a = \xff"], ids=["open bracket", "not text"])
def test_a_file_that_is_not_toml(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "ours.toml"
    path.write_bytes(content)
    pattern = r"^ours\.toml: this is not valid TOML \(got: .+\)\. Mend the line named\.$"
    with pytest.raises(SettingsError, match=re.compile(pattern, re.DOTALL)):
        read_assumptions(path)
