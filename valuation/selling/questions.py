"""Questions with names: what customers ask, in a file that the firm owns."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from valuation.errors import QuestionError, SettingsError
from valuation.features.columns import key
from valuation.importing.car_value import Wrong, all_wrong
from valuation.selling.what_if_changes import Change, read_change

__all__ = ["Question", "default_questions", "questions_named", "read_questions"]

_KEYS = ("name", "ask", "set", "note")


@dataclass(frozen=True, slots=True)
class Question:
    """A question that can be asked of a car.

    Parameters
    ----------
    name : str
        How it is asked for.
    ask : str
        In words.
    changes : tuple of Change
        What would be otherwise, all at once.
    note : str
        A remark that goes with the answer, empty for none.
    """

    name: str
    ask: str
    changes: tuple[Change, ...]
    note: str = ""


@cache
def default_questions() -> tuple[Question, ...]:
    """Return the questions that come with the package."""
    source = resources.files("valuation") / "data" / "questions.toml"
    return _questions(source.read_text(encoding="utf-8"), "questions.toml")


def read_questions(path: str | Path) -> tuple[Question, ...]:
    """Read a firm's own questions.

    Parameters
    ----------
    path : str or pathlib.Path
        TOML file; see ``valuation/data/questions.toml`` for the form.

    Raises
    ------
    SettingsError
        If the file can't be read or holds wrong entries; all of them are named.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(
            path.name,
            "the questions can't be read",
            got=getattr(error, "strerror", None) or "no text in UTF-8",
            remedy="Check its name",
        ) from error
    return _questions(text, path.name)


def questions_named(questions: Sequence[Question], names: Sequence[str]) -> list[Question]:
    """Return questions by their names.

    Parameters
    ----------
    questions : sequence of Question
        All there are.
    names : sequence of str
        Names in any case.

    Raises
    ------
    QuestionError
        If a name is none of theirs.
    """
    known = {key(q.name): q for q in questions}
    unknown = [name for name in names if key(name) not in known]
    if unknown:
        near = get_close_matches(key(unknown[0]), list(known), n=1, cutoff=0.5)
        told = f"Ask {known[near[0]].name!r}, the nearest" if near else "See --list-questions"
        raise QuestionError(
            "what-if", "no question has this name", got=", ".join(unknown), remedy=told
        )
    return [known[name] for name in dict.fromkeys(key(name) for name in names)]


def _questions(text: str, where: str) -> tuple[Question, ...]:
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(
            where, "this is not valid TOML", got=str(error), remedy="Mend the line named"
        ) from error
    faults = [Wrong(k, "an unknown entry", "a table [[question]]") for k in raw if k != "question"]
    tables = raw.get("question")
    if not isinstance(tables, list) or not all(isinstance(t, Mapping) for t in tables):
        faults.append(Wrong("question", str(tables or "nothing"), "tables [[question]]"))
        tables = []
    made = [_question(t, f"question {i}", faults) for i, t in enumerate(tables, start=1)]
    names = [key(q.name) for q in made]
    faults += [
        Wrong(f"question {i}.name", q.name, "a name that no other question has")
        for i, q in enumerate(made, start=1)
        if q.name and names.index(key(q.name)) < i - 1
    ]
    if faults:
        what, remedy = all_wrong(faults)
        raise SettingsError(where, what, remedy=remedy)
    return tuple(made)


def _question(table: Mapping[str, Any], place: str, faults: list[Wrong]) -> Question:
    allowed = f"one of the keys {', '.join(_KEYS)}"
    faults += [Wrong(f"{place}.{k}", str(v), allowed) for k, v in table.items() if k not in _KEYS]
    name, ask = (_text(table, k, place, faults, wanted=True) for k in ("name", "ask"))
    note = _text(table, "note", place, faults, wanted=False)
    return Question(name, ask, _changes(table.get("set"), place, faults), note)


def _text(
    table: Mapping[str, Any], name: str, place: str, faults: list[Wrong], *, wanted: bool
) -> str:
    value = table.get(name, "")
    if isinstance(value, str) and (value.strip() or not wanted):
        return value.strip()
    faults.append(Wrong(f"{place}.{name}", str(value) or "nothing", "text between quotation marks"))
    return ""


def _changes(listed: Any, place: str, faults: list[Wrong]) -> tuple[Change, ...]:
    allowed = 'a list of changes, such as ["mileage = +10000"]'
    texts = listed if isinstance(listed, list) else []
    if not texts or not all(isinstance(t, str) for t in texts):
        faults.append(Wrong(f"{place}.set", str(listed or "nothing"), allowed))
        return ()
    out = []
    for text in texts:
        try:
            out.append(read_change(text))
        except QuestionError:
            faults.append(Wrong(f"{place}.set", text, "NAME = VALUE"))
    return tuple(out)
