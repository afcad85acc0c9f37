"""What-if questions: what a car would be worth if some facts were otherwise, all else as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from valuation.appraisal.batch import Batch, batches, lacking, sure_of_day
from valuation.appraisal.market import MarketModel
from valuation.appraisal.strength import CAUTIONS
from valuation.errors import CarFileError, QuestionError
from valuation.features.columns import key
from valuation.features.table import day_number
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car
from valuation.results.what_if import TOGETHER, WhatIf, WhatIfs
from valuation.results.what_if_parts import AskedCar, ChangedFact, NotAsked, PayBack
from valuation.running.threads import one_thread
from valuation.selling.customers_market import (
    Purchase,
    customers_market,
    former_customers,
    public_sales,
)
from valuation.selling.pay_back import pay_back
from valuation.selling.private_words import private_words
from valuation.selling.questions import Question
from valuation.selling.selling_sale import customers_sale
from valuation.selling.sheet_words import OFFERS, heading_of, sale_words
from valuation.selling.what_if_car import ChangedCar, with_changes
from valuation.selling.what_if_changes import Change
from valuation.selling.what_if_sales import Behind
from valuation.selling.what_if_step import (
    attribute_steps,
    evidence_share,
    range_after,
    range_as_it_is,
    step_between,
)
from valuation.selling.what_if_warnings import uncertain, warnings_of
from valuation.selling.what_if_work import Asked, what_follows

__all__ = ["what_if", "what_ifs"]

Cost = tuple[float | Decimal, float | Decimal]
"""Lowest and highest amount."""

_AT_A_TIME = 400
"""Cars that are worked out together."""


def what_if(
    market: MarketModel,
    car: Car,
    changes: Sequence[Change],
    *,
    as_of: date | None = None,
    channel: str = "",
    settings: InspectionSettings | None = None,
    cost: Cost | None = None,
    purchase: Purchase | None = None,
    ask: str = "",
) -> WhatIf:
    """Say what a car would be worth if some facts were otherwise, all at once.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    car : Car
        The car as it is; ``year`` and ``make`` must be known.
    changes : sequence of Change
        What would be otherwise; none leaves the car as it is.
    as_of : datetime.date, optional
        Day of the valuation; the day of the model by default.
    channel : str, optional
        Where it is sold; see :func:`valuation.selling.selling_sale.customers_sale`.
    settings : InspectionSettings, optional
        Zones and components; those of the package by default.
    cost : (float, float), optional
        What the change costs at least and at most, in the currency of the market.
    purchase : Purchase, optional
        What the firm paid for this car, if it is known: the market is asked without it.
    ask : str, optional
        The question in words; made of the changes by default.

    Returns
    -------
    WhatIf
        Fit for a customer's eyes, the cost aside.

    Raises
    ------
    QuestionError
        If a change can't be made: every one is named.
    CarFileError
        If year or make is missing.
    SettingsError
        If a day is given for an undated list, or the channel is unknown.
    """
    asker = _Asker.of(market, car, settings, as_of, channel, purchase)
    (answer,) = asker.answers([_Made.of(asker, Question("", ask, tuple(changes)))], cost)
    return answer


def what_ifs(
    market: MarketModel,
    car: Car,
    questions: Sequence[Question],
    *,
    as_of: date | None = None,
    channel: str = "",
    settings: InspectionSettings | None = None,
    cost: Cost | None = None,
    purchase: Purchase | None = None,
) -> WhatIfs:
    """Ask several questions about one car: each alone, and all together.

    Parameters
    ----------
    market, car, as_of, channel, settings, purchase
        As for :func:`what_if`.
    questions : sequence of Question
        What is asked; a question that can't be asked of this car is told with the reason.
    cost : (float, float), optional
        What the change costs, for a single question.

    Returns
    -------
    WhatIfs
        In the order of the questions.

    Raises
    ------
    QuestionError
        If a question without a name, the only one, or none of them can be asked, or if a cost is
        given for several.
    CarFileError, SettingsError
        As for :func:`what_if`.
    """
    if cost is not None and len(questions) != 1:
        raise QuestionError(
            "what-if",
            "a cost belongs to one question",
            got=f"{len(questions)} questions",
            remedy="Ask each question with its cost by itself",
        )
    asker = _Asker.of(market, car, settings, as_of, channel, purchase)
    made, refused = _made(asker, questions)
    if questions and not made:
        raise QuestionError(
            "what-if",
            "none of these questions can be asked of this car",
            got="; ".join(f"{q.name}: {q.reason}" for q in refused).rstrip("."),
        )
    moving = [m.question for m in made if m.changed.facts]
    apart = ""
    if len(moving) > 1:
        every = [c for q in moving for c in q.changes]
        try:
            asked = Question(TOGETHER, "What if all of it were so together?", tuple(every))
            made.append(_Made.of(asker, asked))
        except QuestionError as error:
            apart = _reason(error)
    answers = asker.answers(made, cost)
    n = len(questions) - len(refused)
    together = answers[n] if len(answers) > n else None
    return WhatIfs(
        asker.asked(answers), tuple(answers[:n]), together, apart, tuple(refused), CAUTIONS
    )


@dataclass(frozen=True)
class _Made:
    """A question with the car that it makes."""

    question: Question
    changed: ChangedCar

    @classmethod
    def of(cls, asker: _Asker, question: Question) -> _Made:
        """Make the car; a question without words or a name gets those of its facts."""
        changed = with_changes(asker.car, question.changes, asker.settings)
        facts = [f for f in changed.facts if f.asked] or changed.facts
        name = question.name or ", ".join(f.label for f in facts) or "no change"
        return cls(replace(question, name=name, ask=question.ask or _words(facts)), changed)


def _made(asker: _Asker, questions: Sequence[Question]) -> tuple[list[_Made], list[NotAsked]]:
    made, refused = [], []
    for q in questions:
        try:
            made.append(_Made.of(asker, q))
        except QuestionError as error:
            if not q.name or len(questions) == 1:  # asked by hand: a slip is to be mended
                raise
            refused.append(NotAsked(q.name, q.ask, _reason(error)))
    return made, refused


def _reason(error: QuestionError) -> str:
    problem = error.problem.removeprefix("one entry is wrong: ")
    return f"{problem[:1].upper()}{problem[1:]}."


def _words(facts: Sequence[ChangedFact]) -> str:
    """Ask in words for what is otherwise."""
    if not facts:
        return "What if it stayed as it is?"
    said = [f"{f.label.lower()} were {f.after} instead of {f.before}" for f in facts]
    return f"What if {', and '.join(said)}?"


@dataclass(frozen=True)
class _Asker:
    """One car in the market as its customer may see it."""

    market: MarketModel
    car: Car
    settings: InspectionSettings
    as_of: date | None

    @classmethod
    def of(
        cls,
        market: MarketModel,
        car: Car,
        settings: InspectionSettings | None,
        as_of: date | None,
        channel: str,
        purchase: Purchase | None,
    ) -> _Asker:
        missing = lacking(car)
        if missing:
            raise CarFileError(
                heading_of(car.values),
                "a car can't be valued without " + " and ".join(missing),
                got="nothing",
                remedy=f"State {' and '.join(missing)}, or a title that holds them",
            )
        day = sure_of_day(market, as_of)
        market = customers_market(market, car, purchase=purchase)
        sold = replace(car, sale=customers_sale(market, car, channel), work=())
        return cls(market, sold, settings or default_inspection_settings(), day)

    def answers(self, made: Sequence[_Made], cost: Cost | None) -> list[WhatIf]:
        """Price the car with each change."""
        cars = [self.car, *(m.changed.car for m in made)]
        with one_thread():
            out: list[WhatIf] = []
            # Cars are worked out some hundred at a time, each time with the car as it is first.
            for start in range(1, len(cars), _AT_A_TIME):
                part = [self.car, *cars[start : start + _AT_A_TIME]]
                (batch,) = batches(self.market, part, as_of=self.as_of)
                behind = self._behind(batch)
                out += [
                    self._answer(batch, i, made[start + i - 2], behind, cost)
                    for i in range(1, len(part))
                ]
        return out

    def asked(self, answers: Sequence[WhatIf]) -> AskedCar:
        """Return the car as it is."""
        if answers:
            return answers[0].of
        with one_thread():
            (batch,) = batches(self.market, [self.car], as_of=self.as_of)
        return self._as_it_is(batch)

    def _as_it_is(self, batch: Batch) -> AskedCar:
        sale = batch.sales[0]
        return AskedCar(
            heading_of({**self.car.values, "chassis": self.car.chassis}),
            self.as_of,
            self.market.currency,
            sale["basis"],
            self.market.estimand,
            sale["channel"],
            sale_words(sale, offered=self.market.estimand == OFFERS),
            round(float(np.exp(batch.outlooks[0].central))),
            range_as_it_is(batch, 0),
        )

    def _behind(self, batch: Batch) -> Behind:
        """Return the sales that may be counted, and those that may be named."""
        counted = public_sales(self.market)
        named = counted & ~former_customers(self.market) & self._others()
        line = int(batch.forecast.design.line[0])
        return Behind(self.market, counted, named, line, private_words(self.market, self.car))

    def _answer(
        self, batch: Batch, i: int, made: _Made, behind: Behind, cost: Cost | None
    ) -> WhatIf:
        of, changed, question = self._as_it_is(batch), made.changed, made.question
        fitted, central = self.market.fitted, batch.outlooks[0].central
        step = step_between(batch, 0, i)
        after = round(float(np.exp(central + step.effect)))
        lower, upper = step.in_money(central)
        steps = attribute_steps(fitted, step, central, after - of.central)
        answer = WhatIf(
            name=question.name,
            ask=question.ask,
            of=of,
            facts=changed.facts,
            after=after,
            lower=lower,
            upper=upper,
            effect=step.effect,
            sd=step.sd,
            range_after=range_after(batch, 0, i) if changed.facts else of.range,
            evidence_share=evidence_share(steps),
            steps=steps,
            sides=tuple(behind.sides(self.car, changed.car, changed.facts)),
            pay_back=_paid(central, step.effect, step.sd, cost),
            cautions=CAUTIONS,
        )
        return self._judged(batch, i, made, answer)

    def _judged(self, batch: Batch, i: int, made: _Made, answer: WhatIf) -> WhatIf:
        outside = tuple(r for r in batch.outside[i] if r not in batch.outside[0])
        asked = Asked(
            self.market,
            self.settings,
            self.car,
            made.changed.car,
            day_number(self.as_of) if self.as_of else float("nan"),
            batch.outlooks[0].central,
            outside,
        )
        if made.question.name == TOGETHER:  # what each question has to mind stands with it alone
            return replace(answer, sides=(), warnings=uncertain(answer))
        if not answer.facts:
            return answer
        own = (made.question.note,) if made.question.note else ()
        notes = (*own, *made.changed.notes, *what_follows(asked, answer.facts))
        return replace(answer, warnings=warnings_of(asked, answer), notes=notes)

    def _others(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Tell which sales are not of the car itself."""
        code = self.market.fitted.codes["chassis"].get(key(self.car.chassis), -1)
        chassis = self.market.fitted.sales.chassis
        return chassis != code if code >= 0 else np.ones(len(chassis), dtype=bool)


def _paid(central: float, effect: float, sd: float, cost: Cost | None) -> PayBack | None:
    if cost is None:
        return None
    low, high = (float(end) for end in cost)
    return pay_back(float(np.exp(central)), effect, sd, low=low, high=high)
