"""Learning a spec: which columns the sales at hand can carry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from valuation.features.aliases import joined_names
from valuation.features.assumptions import Assumptions
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
    scaled,
)
from valuation.features.settings import FeatureSettings
from valuation.features.shapes import (
    centre_of,
    curve_of,
    ends_of,
    knots_of,
    nodes_of,
    step_on_scale,
)
from valuation.features.table import AGE_LIMIT, LEVELLED, SALE_FACTORS, FeatureTable
from valuation.features.terms import FeatureSpec, Term
from valuation.features.usual import fill_usual, learn_usual
from valuation.schema import ATTRIBUTES, Attribute

__all__ = ["learn_spec"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Learner:
    table: FeatureTable
    stated: FeatureTable
    settings: FeatureSettings
    assumptions: Assumptions
    masks: list[tuple[NDArray[np.bool_], str]] = field(default_factory=list)

    def terms(self) -> Iterator[Term]:
        yield Term("level of prices", "start", Ones("ones"), "free")
        yield from self.market()
        yield from self.sale()
        yield from self.identity()
        for a in ATTRIBUTES:
            if a.kind == "number":
                yield from self.number(a)
            elif a.kind == "category" and a.name not in ("make", "model", "generation"):
                yield from self.category(a)
            elif a.kind == "set":
                yield from self.members(a)
        if self.settings.statements:
            yield from self.statements()
        if self.settings.words:
            yield from self.wording()

    def market(self) -> Iterator[Term]:
        day = self.table.numbers["day"]
        known = day[~np.isnan(day)]
        if not len(known) or known.max() - known.min() < self.settings.level_days:
            return
        common = Walk("day", nodes=nodes_of(known, self.settings.level_days, 90))
        yield Term("market level", "market", common)
        yield self.selection(known, common)
        # A make's own drift ends before the last few sales: each make has so few of them that
        # an odd one would bend the end of its ramp.
        bulk = known[known <= np.quantile(known, 0.98)]
        coarse = Walk("day", nodes=nodes_of(bulk, self.settings.segment_days, 24))
        cross = self.crossed(coarse, "make", least=1, sales=self.settings.segment_sales)
        if cross is not None and len(cross.groups) > 1:
            yield Term("market level by make", "market", cross)
        if self.settings.line_days:
            year = Walk("day", nodes=nodes_of(bulk, self.settings.line_days, 8))
            yield from self.line_terms("market level by model line", "market", year)

    def selection(self, known: Floats, level: Walk) -> Term:
        # Half a step of the level: the end of a ramp hangs on few sales, so thinness is judged
        # on a finer scale than the level itself.
        first, width = level.nodes[0], (level.nodes[1] - level.nodes[0]) / 2
        numbers, counts = np.unique(np.floor((known - first) / width), return_counts=True)
        sizes = np.clip(np.sqrt(np.median(counts) / counts), 1.0, 15.0)
        columns = tuple(numbers.astype(int).tolist())
        stretches = Stretches("day", first, width, columns, tuple(sizes.tolist()))
        k = len(columns)
        sd = self.settings.selection_sd
        return Term("selection of sales", "market", stretches, "assumed", (0.0,) * k, (sd,) * k)

    def sale(self) -> Iterator[Term]:
        # The outcome has no effect of its own: what an unsold bid tells is decided before the
        # fit, and an effect of "not sold" would be the sold-only model in disguise.
        names = [n for n in SALE_FACTORS if n != "outcome" and len(self.levels(n)) > 1]
        attributes = joined_names(self.table, names)
        for name in names:
            yield self.held(name, attributes[name], Levels(name, levels=self.levels(name)))

    def identity(self) -> Iterator[Term]:
        yield Term("make", "model", Levels("make", levels=self.levels("make", least=1)))
        families = self.levels("family", least=1)
        if len(families) < len(self.levels("line", least=1)):
            yield Term("model", "model", Levels("family", levels=families))
            yield from self.cross_terms(
                "variant by model", "variant", self.level_encoder("variant"), "family"
            )
        yield from self.unnamed_model()
        if self.settings.local:
            yield from self.line_terms("model line", "model", Ones("ones"), least=1)
            for source, attribute in (
                *((f"{name} level", name) for name in LEVELLED),
                ("specification", "specification"),
                ("version of a year", "specification"),
                ("version", "wording"),
            ):
                if source != "version" or self.settings.words:
                    yield from self.line_terms(
                        f"{source} by model line", attribute, self.level_encoder(source)
                    )

    def unnamed_model(self) -> Iterator[Term]:
        """Yield what it tells that a list names no model for a car it has a make for.

        Lists name the models that collectors ask for; a car without one is one that few seek.
        """
        encoder = Silent("model", holder="factor")
        silent = self.stated.factors["model"].codes < 0
        if 0 < silent.mean() < 1:
            yield Term("model not stated", "model", encoder)
            for by in ("make", "era"):
                yield from self.cross_terms(f"model not stated by {by}", "model", encoder, by)

    def number(self, a: Attribute) -> Iterator[Term]:
        x = scaled(self.table.numbers[a.name], a.scale)
        stated = ~np.isnan(x)
        held = self.assumptions.numbers.get(a.name)
        n = int(stated.sum())
        if held is None and n < 10:
            return
        centre, spread = centre_of(a, x[stated])
        straight = Straight(a.name, scale=a.scale, centre=centre, spread=spread)
        varies = n >= 10 and float(np.ptp(x[stated])) > 1e-9
        if varies and not a.direction:
            # Where the trade is certain of a direction, it goes on; elsewhere nobody knows how.
            straight = replace(straight, ends=ends_of(straight, x, 0.0))
        if held is not None:
            per_unit = step_on_scale(a, held[0]) / spread
            mean, sd = held[1].mean / per_unit, held[1].sd / per_unit
            yield Term(a.name, a.name, straight, "assumed", (mean,), (sd,))
        elif varies:
            yield Term(a.name, a.name, straight, "free")
        yield from self.silence(a)
        if not varies:
            return
        bend = curve_of(straight, x, self.settings.knots) if a.curve else None
        if bend is not None:
            yield Term(f"{a.name} curve", a.name, bend)
        if a.name == "year":
            yield from self.age()
        if a.by_line:
            yield from self.departures(a, straight, x)

    def departures(self, a: Attribute, common: Straight, x: Floats) -> Iterator[Term]:
        """Yield what eras, makes, variants and model lines add to the common effect of a number.

        Few sales of a model line lie at the ends of a number, and a slope that rests on the middle
        says little there: its own effect goes flat at the tails.
        """
        straight = common
        if not a.direction:
            straight = replace(common, ends=ends_of(common, x, self.settings.local_tail))
        # A direction of which the trade is certain is held line by line, so no era bends it.
        if a.name != "year" and not a.direction:
            yield from self.cross_terms(f"{a.name} by era", a.name, straight, "era")
        if a.name == "mileage":  # it matters as far as it can be believed
            believed = self.crossed(straight, "mileage_status", least=self.settings.min_pair)
            if believed is not None:
                yield Term("mileage by its status", a.name, believed)
        yield from self.cross_terms(f"{a.name} by make", a.name, straight, "make")
        if not a.direction:
            yield from self.cross_terms(f"{a.name} by variant", a.name, straight, "variant")
        yield from self.line_terms(f"{a.name} by model line", a.name, straight)
        few = curve_of(straight, x, self.settings.line_knots) if a.curve else None
        if few is not None:
            yield from self.line_terms(f"{a.name} curve by model line", a.name, few)

    def age(self) -> Iterator[Term]:
        age = self.table.numbers["age"]
        young = age[age < AGE_LIMIT]
        if not self.settings.age or len(young) < 30:
            return
        # Hinges that open downwards from 25 years: an older car has no age of its own.
        knots = np.unique(np.append(knots_of(-young, self.settings.knots), -AGE_LIMIT))
        yield Term(
            "age at sale",
            "year",
            Curve(
                "age",
                centre=0.0,
                spread=-1.0,
                knots=tuple(float(k) for k in knots),
                level=(0.0,) * len(knots),
                slope=(0.0,) * len(knots),
            ),
        )
        youth = Curve("age", spread=-10.0, knots=(-AGE_LIMIT / 10,), level=(0.0,), slope=(0.0,))
        yield from self.cross_terms("age at sale by make", "year", youth, "make")
        yield from self.line_terms("age at sale by model line", "year", youth)

    def category(self, a: Attribute) -> Iterator[Term]:
        seen = self.levels(a.name)
        held = self.assumptions.words.get(a.name, {})
        if held:
            assumed = tuple(v for v in held if v != a.baseline)
            yield Term(
                a.name,
                a.name,
                Levels(a.name, levels=assumed),
                "assumed",
                tuple(held[v].mean for v in assumed),
                tuple(held[v].sd for v in assumed),
            )
        rest = tuple(v for v in seen if v not in held and not (held and v == a.baseline))
        if rest and len(seen) > (0 if held else 1):
            yield self.held(f"{a.name} level", a.name, Levels(a.name, levels=rest))
        yield from self.silence(a)
        if a.by_line and len(seen) > 1:
            inner = Levels(a.name, levels=seen)
            yield from self.cross_terms(f"{a.name} by make", a.name, inner, "make")
            if a.name != "variant":
                yield from self.cross_terms(f"{a.name} by variant", a.name, inner, "variant")
            yield from self.line_terms(f"{a.name} by model line", a.name, inner)

    def members(self, a: Attribute) -> Iterator[Term]:
        held = self.assumptions.words.get(a.name, {})
        bag = self.table.bags[a.name]
        parts = a.name == "modifications"
        if held:
            words = tuple(held)
            yield Term(
                a.name,
                a.name,
                Members(a.name, levels=words, parts=parts),
                "assumed",
                tuple(held[v].mean for v in words),
                tuple(held[v].sd for v in words),
            )
        seen = {p for v in bag.levels for p in (v.partition("/")[::2] if parts else (v,)) if p}
        rest = tuple(sorted(seen - set(held)))
        if rest:
            yield self.held(f"{a.name} word", a.name, Members(a.name, levels=rest, parts=parts))
        if parts and len(bag.levels):
            whole = Members(a.name, levels=bag.levels)
            yield self.held(f"{a.name} of a kind and manner", a.name, whole)
        yield from self.silence(a)

    def silence(self, a: Attribute) -> Iterator[Term]:
        """Yield the effect of silence, in one line for attributes that are silent together."""
        holder = {"number": "number", "category": "factor", "set": "bag"}[a.kind]
        encoder = Silent(a.name, holder=holder)
        mask = np.zeros(self.table.n, dtype=bool)
        mask[encoder.encode(self.stated).row] = True
        if mask.all() or not mask.any():
            return
        # Columns that nearly coincide pull against each other, so they make one line together.
        for other, leader in self.masks:
            if np.mean(mask != other) < 0.4 * min(mask.mean(), 0.5):
                yield Term(f"{a.name} not stated", leader, encoder)
                return
        self.masks.append((mask, a.name))
        yield Term(f"{a.name} not stated", a.name, encoder)

    def statements(self) -> Iterator[Term]:
        bag = self.table.bags["statements"]
        counts = np.bincount(bag.codes, minlength=len(bag.levels))
        often = np.flatnonzero(counts >= self.settings.min_word)
        if len(often):
            said = Members("statements", levels=tuple(bag.levels[i] for i in often))
            yield self.held("statements", "statements", said)

    def wording(self) -> Iterator[Term]:
        s = self.settings
        for source in ("wording", "engine wording", "gearbox wording"):
            bag = self.table.bags.get(source)
            if bag is None or not len(bag.codes):
                continue
            counts = np.bincount(bag.codes, minlength=len(bag.levels))
            common = np.flatnonzero(counts >= s.min_word)
            common = np.sort(common[np.argsort(-counts[common], kind="stable")][: s.max_words])
            some = np.flatnonzero(counts >= s.min_pair)
            if len(common):
                inner = Members(source, levels=tuple(bag.levels[i] for i in common))
                yield Term(source, "wording", inner)
            if len(some):
                inner = Members(source, levels=tuple(bag.levels[i] for i in some))
                yield from self.line_terms(f"{source} by model line", "wording", inner)

    def held(self, name: str, attribute: str, encoder: Encoder) -> Term:
        return Term(name, attribute, encoder, least=self.settings.least_effect)

    def levels(self, name: str, least: int | None = None) -> tuple[str, ...]:
        factor = self.table.factors[name]
        counts = np.bincount(factor.codes[factor.codes >= 0], minlength=len(factor.levels))
        least = self.settings.min_level if least is None else least
        return tuple(v for v, c in zip(factor.levels, counts, strict=True) if c >= least)

    def level_encoder(self, name: str) -> Levels:
        return Levels(name, levels=self.levels(name))

    def cross_terms(self, name: str, attribute: str, inner: Encoder, by: str) -> Iterator[Term]:
        if len(inner.labels):
            cross = self.crossed(inner, by, least=self.settings.min_pair)
            if cross is not None and len({p // len(inner.labels) for p in cross.pairs}) > 1:
                yield Term(name, attribute, cross)

    def line_terms(
        self, name: str, attribute: str, inner: Encoder, *, least: int | None = None
    ) -> Iterator[Term]:
        if self.settings.local and len(inner.labels):
            least = self.settings.min_pair if least is None else least
            cross = self.crossed(inner, "line", least=least)
            if cross is not None:
                yield Term(name, attribute, cross)

    def crossed(self, inner: Encoder, by: str, *, least: int, sales: int = 1) -> Crossed | None:
        """Cross an encoder with a factor, with columns for the pairs that occur often enough."""
        groups = self.levels(by, least=sales)
        empty = Crossed(inner.source, inner=inner, by=by, groups=groups)
        cells, k = inner.encode(self.table), len(inner.labels)
        group = empty.group_of(self.table)[cells.row]
        code, val = (group * k + cells.col)[group >= 0], cells.val[group >= 0]
        pairs, place, counts = np.unique(code, return_inverse=True, return_counts=True)
        centres: tuple[float, ...] = ()
        if isinstance(inner, Straight):
            total = np.bincount(group[group >= 0], val, len(groups))
            size = np.bincount(group[group >= 0], minlength=len(groups))
            centres = tuple((total / np.maximum(size, 1)).tolist())
            spread = np.bincount(place, (val - np.array(centres)[code // k]) ** 2, len(pairs))
            counts = np.where(spread > 1e-12, counts, 0)
        pairs = pairs[counts >= least]
        if not len(pairs):
            return None
        return Crossed(inner.source, inner, by, groups, tuple(pairs.tolist()), centres)


def learn_spec(
    table: FeatureTable, *, settings: FeatureSettings, assumptions: Assumptions
) -> FeatureSpec:
    """Learn which columns the sales can carry.

    Parameters
    ----------
    table : FeatureTable
        Sales.
    settings : FeatureSettings
        How rich the columns may be.
    assumptions : Assumptions
        Effects that are assumed where the sales are silent.

    Returns
    -------
    FeatureSpec
        Frozen.
    """
    lines = _Learner(table, table, settings, assumptions).levels("line", least=1)
    usual = learn_usual(table, lines, assumptions.words)
    bare = FeatureSpec((), lines, usual)
    full = fill_usual(table, usual, bare.line_of(table))
    learner = _Learner(full, table, settings, assumptions)
    return FeatureSpec(tuple(learner.terms()), lines, usual)
