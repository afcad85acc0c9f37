"""What a ratio study says, in sentences for people who buy and sell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.results.ratio_parts import Measure, StrataKind, Stratum
from valuation.scoring.ratio_study import BANDS
from valuation.scoring.scatter import ScatterOnly
from valuation.scoring.screens import SalesChasing

__all__ = [
    "MEASURES",
    "MeasureWords",
    "band_words",
    "chasing_words",
    "doubtful_words",
    "kind_findings",
    "meaning_of",
    "measured_words",
    "overall_findings",
    "value_words",
]


@dataclass(frozen=True, slots=True)
class MeasureWords:
    """How a measure is said.

    Parameters
    ----------
    title : str
        Its name.
    asks : str
        What it asks.
    low, high : str
        Key of :data:`_MEANINGS` for a value below and above its band.
    digits : int
        Decimals.
    unit : str
        What stands behind the value.
    """

    title: str
    asks: str
    low: str
    high: str
    digits: int
    unit: str = ""


MEASURES: dict[str, MeasureWords] = {
    "median_ratio": MeasureWords(
        "Median ratio", "Is the level right?", "level low", "level high", 3
    ),
    "cod": MeasureWords("COD", "How far do single estimates lie off?", "close", "scatter", 1),
    "prd": MeasureWords(
        "PRD", "How do dear cars stand against cheap ones?", "dear high", "dear low", 3
    ),
    "prb": MeasureWords(
        "PRB", "How does the ratio change when the value doubles?", "dear low", "dear high", 3
    ),
    "mki": MeasureWords("MKI", "Do estimates spread as prices do?", "dear low", "dear high", 3),
    "vei": MeasureWords(
        "VEI",
        "How does the dearest group stand against the cheapest?",
        "dear low",
        "dear high",
        1,
        "%",
    ),
}
"""Measures with a band, in the order in which they are told."""

_MEANINGS = {
    "level low": (
        "estimates lie too low",
        "Bids that rest on them lose cars worth having, and asking prices give money away.",
    ),
    "level high": (
        "estimates lie too high",
        "Bids that rest on them pay too much, and asking prices find no buyer.",
    ),
    "scatter": (
        "single estimates lie far off",
        "Rely on the range and on the closest sales there, not on the central estimate.",
    ),
    "close": (
        "estimates lie closer to prices than prices of like cars lie to each other",
        "Check that they were made without knowing the prices.",
    ),
    "dear low": (
        "dear cars are estimated too low beside cheap ones",
        "Bids are too low for dear cars and too high for cheap ones.",
    ),
    "dear high": (
        "dear cars are estimated too high beside cheap ones",
        "Bids are too high for dear cars and too low for cheap ones.",
    ),
}
"""What lies beyond a band, and what that means for a dealer."""


def value_words(name: str, value: float) -> str:
    """Write a value of a measure with its decimals.

    Examples
    --------
    >>> value_words("cod", 14.523), value_words("vei", -12.0), value_words("prb", -0.0001)
    ('14.5', '-12.0%', '0.000')
    """
    words = MEASURES[name]
    said = f"{value:.{words.digits}f}"
    # What rounds to nothing has no sign.
    return f"{said.lstrip('-') if float(said) == 0 else said}{words.unit}"


def measured_words(measure: Measure) -> str:
    """Write a measure with its interval, where it has one."""
    said = value_words(measure.name, measure.value)
    if measure.apart is not None:
        return f"{said}, groups {value_words(measure.name, measure.apart)} apart"
    if measure.interval is None:
        return said
    low, high = (
        value_words(measure.name, x) for x in (measure.interval.lower, measure.interval.upper)
    )
    return f"{said}, {low} to {high}"


def band_words(name: str) -> str:
    """Write what the standard accepts.

    Examples
    --------
    >>> band_words("median_ratio"), band_words("vei")
    ('0.90 to 1.10', '-10% to 10%')
    """
    band, unit = BANDS[name], MEASURES[name].unit
    digits = 0 if band.upper > 2 else 2
    return f"{band.lower:.{digits}f}{unit} to {band.upper:.{digits}f}{unit}"


def meaning_of(measure: Measure) -> tuple[str, str]:
    """Return what a value beyond its band says, and what that means for a dealer."""
    words = MEASURES[measure.name]
    return _MEANINGS[words.low if measure.below else words.high]


def chasing_words(chasing: SalesChasing | None) -> str:
    """Say whether estimates look as if they had been set to the very prices."""
    if chasing is None:
        return (
            "Whether estimates were set to the prices after the sale can't be told from so few "
            "sales; thirty that differ are needed."
        )
    found = (
        f"{chasing.share_near_one:.1f}% of the ratios lie from 0.98 to 1.02 where a normal spread "
        f"has {chasing.share_expected:.1f}%, and at most {chasing.largest_step:.1f}% of all share "
        "one ratio there"
    )
    if chasing.suspected:
        return (
            f"Estimates look as if they had been set to the prices after the sale: {found}. Every "
            "other measure then looks better than it is."
        )
    return f"No sign that estimates were set to the prices after the sale: {found}."


def overall_findings(stratum: Stratum, scatter: ScatterOnly | None) -> tuple[str, ...]:
    """Say of all sales together what is in order and what is not.

    Parameters
    ----------
    stratum : Stratum
        All sales.
    scatter : ScatterOnly or None
        What scatter alone would show; None if that is not known.
    """
    fine = [MEASURES[m.name].title for m in stratum.measures if m.verdict == "inside"]
    said = [f"Inside the bands of the standard: {', '.join(fine)}."] if fine else []
    beyond = [m for m in stratum.measures if m.verdict != "inside"]
    explained = [m for m in beyond if _explains(scatter, m)]
    if explained:
        said.append(_explained_sentence(explained, scatter))
    rest = [m for m in beyond if m not in explained]
    meanings = dict.fromkeys(meaning_of(m) for m in rest)
    alike = ([m for m in rest if meaning_of(m) == meaning] for meaning in meanings)
    return (*said, *(_meaning_sentence(measures, scatter) for measures in alike))


def _explains(scatter: ScatterOnly | None, measure: Measure) -> bool:
    alone = scatter.of(measure.name) if scatter else None
    return alone is not None and alone.explains(measure.value, below=measure.below)


def _explained_sentence(measures: list[Measure], scatter: ScatterOnly | None) -> str:
    names = _listed([MEASURES[m.name].title for m in measures])
    found = "; ".join(_found(m) for m in measures)
    many = len(measures) > 1
    lie, them = ("lie beyond their bands", "them") if many else ("lies beyond its band", "it")
    return (
        f"{names} {lie} ({found}), but no further than the scatter of these prices alone puts "
        f"{them} for fair estimates ({_alone(measures, scatter)})."
    )


def _meaning_sentence(measures: list[Measure], scatter: ScatterOnly | None) -> str:
    what, so = meaning_of(measures[0])
    found = "; ".join(_found(m) for m in measures)
    doubt = "" if any(m.proven for m in measures) else " It may be chance: the interval reaches in."
    alone = _alone(measures, scatter)
    more = f" Scatter of the prices alone would show {alone}." if alone else ""
    return f"{_capital(what)} ({found}).{doubt}{more} {so}"


def _found(measure: Measure) -> str:
    words = f"{MEASURES[measure.name].title} {measured_words(measure)}"
    return f"{words}, accepted {band_words(measure.name)}"


def _alone(measures: list[Measure], scatter: ScatterOnly | None) -> str:
    """Say what scatter alone would show of measures, nothing where that is not known."""
    said = []
    for measure in measures:
        alone = scatter.of(measure.name) if scatter else None
        if alone is not None:
            low, high = (value_words(measure.name, x) for x in (alone.lower, alone.upper))
            said.append(f"{MEASURES[measure.name].title} {low} to {high}")
    return "; ".join(said)


def kind_findings(kind: StrataKind, overall: Stratum) -> tuple[str, ...]:
    """Say which strata of a kind lie beyond a band by more than chance explains.

    Where all sales together scatter too far, nearly every stratum does, so that is said of all
    alone.

    Parameters
    ----------
    kind : StrataKind
        The strata.
    overall : Stratum
        All sales.
    """
    return tuple(_kind_sentences(kind, _said_of_all(overall)))


def _said_of_all(overall: Stratum) -> set[str]:
    """Return the measures that are not told stratum by stratum; the MKI has no interval."""
    cod = overall.measure("cod")
    return {"cod", "mki"} if cod is not None and cod.proven else {"mki"}


def _beyond(stratum: Stratum, skipped: set[str]) -> list[Measure]:
    return [m for m in stratum.measures if m.verdict != "inside" and m.name not in skipped]


def _kind_sentences(kind: StrataKind, skipped: set[str]) -> Iterator[str]:
    failing: dict[tuple[str, str], list[str]] = {}
    for stratum in kind.strata:
        proven = [m for m in _beyond(stratum, skipped) if m.proven]
        for meaning in dict.fromkeys(meaning_of(m) for m in proven):
            found = (
                f"{MEASURES[m.name].title} {measured_words(m)}"
                for m in proven
                if meaning_of(m) == meaning
            )
            failing.setdefault(meaning, []).append(f"{stratum.name} ({'; '.join(found)})")
    for (what, so), names in failing.items():
        yield f"{kind.label}: {what} for {_listed(names)}. {so}"


def doubtful_words(kinds: Sequence[StrataKind], overall: Stratum) -> str:
    """Count the strata beyond a band by no more than chance explains; empty for none.

    Parameters
    ----------
    kinds : sequence of StrataKind
        The strata, kind by kind.
    overall : Stratum
        All sales.
    """
    skipped = _said_of_all(overall)
    parts = []
    for kind in kinds:
        beyond = [_beyond(s, skipped) for s in kind.strata]
        count = sum(bool(found) and not any(m.proven for m in found) for found in beyond)
        if count:
            parts.append(f"{count} of {len(kind.strata)} {kind.label[:1].lower()}{kind.label[1:]}")
    if not parts:
        return ""
    return f"Beyond a band by no more than chance or the scatter of prices: {', '.join(parts)}."


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
