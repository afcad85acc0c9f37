"""The part of the form that asks what the car would be worth if something were otherwise."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import ipywidgets

from valuation.errors import QuestionError
from valuation.forms.justify_said import SayLine
from valuation.forms.widgets import button, field_with_words, hint, narrow_choice
from valuation.inspection.settings import InspectionSettings
from valuation.schema import ATTRIBUTES, BY_NAME
from valuation.selling.questions import Question
from valuation.selling.what_if_changes import Change

__all__ = ["OWN", "AskPart"]

OWN = "Something else"
"""Stands in the list of questions for a fact and a value of one's own."""

HINT = (
    "Write a number or a word; +10000 or -5 for so much more or less, + and a word for one more of "
    "several. The answer says what such cars brought, and not what any work is worth."
)

_OTHER_CAR = frozenset({"make", "model", "generation", "year"})


class AskPart:
    """Questions, one's own among them, and the answer.

    Parameters
    ----------
    questions : sequence of Question
        Those that are asked often.
    zones : InspectionSettings
        Its zones can be asked for beside the attributes.
    answer : callable
        Called with a question; returns markup.

    Attributes
    ----------
    question, fact : ipywidgets.Dropdown
        What is asked; the fact counts for a question of one's own.
    value : ipywidgets.Combobox
        What the fact would be.
    button : ipywidgets.Button
        Asks it.
    said : SayLine
        What is wrong.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self,
        questions: Sequence[Question],
        zones: InspectionSettings,
        answer: Callable[[Question], str],
    ) -> None:
        self._questions = {q.ask: q for q in questions}
        self._zones = {zone.name: zone.label for zone in zones.zones}
        self._answer = answer
        asks = [*self._questions, OWN]
        facts = [(a.label, a.name) for a in ATTRIBUTES if a.name not in _OTHER_CAR]
        facts += [(f"Mark of the zone: {label}", name) for name, label in self._zones.items()]
        self.question = narrow_choice("Question", asks, asks[0])
        self.fact = narrow_choice("What would differ", facts, "engine_originality")
        self.value = field_with_words("It would be")
        self.button = button("Ask", self._clicked)
        self.said = SayLine()
        self._own = ipywidgets.VBox([self.fact, self.value, hint(HINT)])
        self._shown = ipywidgets.HTML()
        parts = [self.question, self._own, self.button, self.said.widget, self._shown]
        self.box = ipywidgets.VBox(parts)
        self.question.observe(self._follow, "value")
        self.fact.observe(self._follow, "value")
        self._follow(None)

    @property
    def asked(self) -> Question:
        """The question as it stands.

        Raises
        ------
        QuestionError
            If no value is written.
        """
        if self.question.value != OWN:
            return self._questions[self.question.value]
        name, value = self.fact.value, self.value.value.strip()
        label = self._label(name)
        if not value:
            raise QuestionError(
                "What if",
                "nothing is written for what it would be",
                got=label,
                remedy=f"Write a value, such as {self._example(name)}",
            )
        ask = f"What if it were otherwise: {label.lower()} {value}?"
        return Question(OWN, ask, (Change(name, value),))

    def start(self) -> None:
        """Forget the answer about another car."""
        self._shown.value = ""
        self.said.say("")

    def _label(self, name: str) -> str:
        return BY_NAME[name].label if name in BY_NAME else f"mark of {self._zones[name].lower()}"

    def _example(self, name: str) -> str:
        return BY_NAME[name].example if name in BY_NAME else "7"

    def _follow(self, change: object) -> None:
        """Show the fields of a question of one's own only with it, and words that fit its fact."""
        self._own.layout.display = "flex" if self.question.value == OWN else "none"
        name = self.fact.value
        levels = BY_NAME[name].levels if name in BY_NAME else ()
        self.value.options = levels
        self.value.placeholder = f"such as {self._example(name)}"

    def _clicked(self, _: object) -> None:
        self._shown.value = ""
        self.said.doing("Asking the sales …", self._ask)

    def _ask(self) -> str:
        self._shown.value = self._answer(self.asked)
        return ""
