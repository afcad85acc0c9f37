"""How the tests are spread over cores, and hand-made valuations of an invented car."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import hypothesis
import pytest
from threadpoolctl import threadpool_limits

from valuation.results.valuation import (
    Adjustment,
    Check,
    Comparable,
    Contribution,
    Evidence,
    NoRange,
    PriceRange,
    Valuation,
)

# How long an example takes says how busy the machine is.
hypothesis.settings.register_profile("house", hypothesis.settings(), deadline=None)
hypothesis.settings.load_profile("house")

# One check of scikit-learn's conformance suite runs only with this, and scipy reads it when it is
# first imported.  Commands and notebooks are run without it, as a user runs them.
os.environ["SCIPY_ARRAY_API"] = "1"

# A worker takes a second to start and collects every test: more of them cost more than they bring.
MOST_WORKERS = 8


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the number of kills be chosen."""
    parser.addoption(
        "--kills", type=int, default=20, help="moments at which commands are killed (default: 20)"
    )


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Return a worker a core, and none for single files, which are done before workers start."""
    files = [word for word in config.args if ".py" in word]
    if len(files) == len(config.args):
        return 0
    return min(MOST_WORKERS, os.cpu_count() or 1)


def pytest_collection_finish(session: pytest.Session) -> None:
    """Give each worker one thread for linear algebra: the other cores have workers of their own.

    Only now, because a limit holds for the libraries that are loaded.
    """
    if hasattr(session.config, "workerinput"):
        threadpool_limits(limits=1)


LINES = (
    ("body", "Body", "convertible", 9_450, 7_900, 11_020, 214, 0.97, ""),
    ("condition_grade", "Condition grade", "81 points", 6_120, 3_300, 8_900, 96, 0.71, "sharp"),
    ("engine_originality", "Engine originality", "later replacement", -5_240, -8_100, -2_300, 41,
     0.46, "engine replaced in 2009"),
    ("transmission", "Transmission", "automatic", -2_310, -3_700, -900, 188, 0.93, "3-spd A/T"),
    ("documents", "Documents", "build record, bills", 1_875, 200, 3_500, 33, 0.28, ""),
    ("colour", "Colour", "red", 640, -150, 1_430, 305, 0.9, ""),
    ("mileage", "Mileage", "61,400 miles", -905, -1_700, -100, 260, 0.88, "61.4k"),
    ("sale", "Sale", "live auction, hammer price", -1_420, -2_600, -200, 720, 1.0, ""),
    ("market", "Market since the last sale", "level held", 0, -900, 900, 720, 1.0, ""),
    ("steering_side", "Steering side", "left", 0, -300, 300, 12, 0.0, ""),
    ("wording", "Wording of the advert", "“barn”, “long stored”", -310, -900, 280, 57, 1.0, ""),
    ("closest sales", "The closest sales brought more", "", 1_133, -600, 2_900, 6, 1.0, ""),
    ("correction", "Forecast correction and skew of the unknowns", "", -233, -233, -233, 410, 1.0,
     ""),
)  # fmt: skip

SALES = (
    ("L-1042", "1967 Torvane GT convertible, 4-speed", date(2025, 5, 17), 51_500, 0.31,
     (("market", "Market", "May 2025", "Sep 2025", 620, 1.2),
      ("transmission", "Transmission", "manual", "automatic", -2_540, -5.0),
      ("condition_grade", "Condition grade", "78 points", "81 points", 780, 1.6))),
    ("L-0871", "1966 Torvane GT convertible, restored", date(2024, 11, 2), 58_250, 0.22,
     (("market", "Market", "Nov 2024", "Sep 2025", 1_180, 2.0),
      ("condition_grade", "Condition grade", "93 points", "81 points", -3_910, -6.8),
      ("engine_originality", "Engine originality", "numbers-matching", "later replacement",
       -7_320, -13.6),
      ("year", "Year", "1966", "1967", 205, 0.4))),
    ("L-0990", "1968 Torvane GT coupé", date(2025, 3, 29), 34_800, 0.18,
     (("market", "Market", "Mar 2025", "Sep 2025", 510, 1.4),
      ("body", "Body", "coupé", "convertible", 9_260, 22.3),
      ("documents", "Documents", "none", "build record, bills", 1_560, 3.6))),
    ("L-0644", "1967 Torvane GT convertible", date(2024, 6, 8), 41_000, 0.12,
     (("market", "Market", "Jun 2024", "Sep 2025", 1_640, 3.9),
      ("condition_grade", "Condition grade", "58 points", "81 points", 6_890, 15.1))),
)  # fmt: skip


CHECKS = (
    Check(
        "engine_originality", "Engine originality", "contradicted", "date-correct or correct type",
        "numbers-matching", "The block was cast on 3 May 1968, after the car was built.",
        "correct type", "date-correct", 46_100, 50_350, -3_900, 350, 0.402, 0.598,
        "engine block, stamped pad", "torch, soft brush", "Read the casting date.", 15.0, 209,
    ),
    Check(
        "condition_grade", "Condition grade", "open", "75 to 86 points", "", "",
        "76 points or less", "85 points or more", 47_000, 50_200, -3_000, 200, 0.11, 0.12,
        "sills, floors", "", "Mark every zone.", None, 24,
    ),
    Check(
        "documents", "Documents", "not looked at", "anything", "", "", "none",
        "bills; build record", 48_500, 52_000, -1_500, 2_000, 0.9985, 0.0015, "with the seller",
        "camera", "Have every paper shown.", 20.0, 3,
    ),
)  # fmt: skip


@pytest.fixture(scope="session")
def user_environment() -> dict[str, str]:
    """Return the environment of a user, without what only tests need."""
    return {name: text for name, text in os.environ.items() if name != "SCIPY_ARRAY_API"}


def _lines() -> tuple[Contribution, ...]:
    return tuple(
        Contribution(name, label, value, amount, float(amount), low, high, sales, share, statement)
        for name, label, value, amount, low, high, sales, share, statement in LINES
    )


def _sales() -> tuple[Comparable, ...]:
    made = []
    for sale_id, title, day, price, weight, steps in SALES:
        adjustments = tuple(Adjustment(*step) for step in steps)
        adjusted = price + sum(a.amount for a in adjustments)
        net = sum(a.percent for a in adjustments)
        gross = sum(abs(a.percent) for a in adjustments)
        made.append(
            Comparable(
                sale_id, title, day, price, adjusted, net, gross, weight, "hammer price", "sold",
                "live auction", adjustments,
            )
        )  # fmt: skip
    return tuple(made)


def build(**changes: object) -> Valuation:
    """Return the example with some fields changed; central follows from the lines."""
    lines = changes.pop("contributions", _lines())
    start = 41_200
    valuation = Valuation(
        car="1967 Torvane GT convertible",
        as_of=date(2025, 9, 12),
        currency="EUR",
        basis="hammer price",
        estimand="price if sold",
        central=start + sum(c.amount for c in lines),
        range=PriceRange(0.8, 41_340, 60_120),
        ranges=(
            PriceRange(0.5, 45_410, 54_930),
            PriceRange(0.8, 41_340, 60_120),
            PriceRange(0.95, 35_700, 70_250),
        ),
        start_label="typical Torvane GT on 12 September 2025",
        start=start,
        contributions=lines,
        comparables=_sales(),
        evidence=Evidence(
            "fair",
            "model line",
            214,
            False,
            ("Three of the four closest sales are older than five months.",),
        ),
        cautions=(
            "This is an estimate from past sales, not an appraisal.",
            "The seller's claims have not been checked by anyone.",
        ),
    )
    return replace(valuation, **changes)


@pytest.fixture
def build_valuation() -> Callable[..., Valuation]:
    """Return the builder of hand-made valuations."""
    return build


@pytest.fixture
def example() -> Valuation:
    """Return a valuation with everything in it."""
    return build()


@pytest.fixture
def bare() -> Valuation:
    """Return a valuation of a car that the evidence can't carry."""
    return build(
        as_of=None,
        range=NoRange("Only 2 sales of this make are known; 8 are needed."),
        ranges=(),
        comparables=(),
        evidence=Evidence("none", "market", 2, True, ()),
        cautions=(),
    )


@pytest.fixture
def unsettled() -> Valuation:
    """Return the example with three facts to check."""
    return build(checks=CHECKS)
