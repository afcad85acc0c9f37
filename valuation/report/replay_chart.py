"""Rules of bidding as a picture: how many lots each wins, and what a unit of outlay brings."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from valuation.report.drawing import blank_axes, in_both_widths, write_text
from valuation.report.page import Chart
from valuation.report.palette import FAINT, INK, PAPER, QUIET
from valuation.results.replay import KINDS, Replay, RuleResult

__all__ = ["drawn_rules", "replay_chart", "replay_figure", "rule_letter"]

_LIMITS = ("o", "^", "s", "D", "v", "p")
_SHARES = ("P", "X", "h", "*", "<", ">")
"""Shapes of rules with a loss limit and of plain rules, one after the other."""

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

_CAPTION = (
    "Each mark is a rule, with the letter it has in the table. To the right: more margin for each "
    "unit of outlay; upwards: more lots won, small shares drawn apart. Bar: 95% interval of the "
    "margin. Filled: loss limits and plain shares; open: limits without the correction for "
    "winning, and shares that win as many lots as a limit. Solid line: neither gain nor "
    "loss.{every} A rule that won fewer than five lots is not drawn."
)


def rule_letter(replay: Replay, rule: RuleResult) -> str:
    """Return the letter of a rule, empty beyond the last letter."""
    at = replay.rules.index(rule)
    return _LETTERS[at] if at < len(_LETTERS) else ""


def drawn_rules(replay: Replay) -> tuple[RuleResult, ...]:
    """Return the rules that can be drawn: those of which it is known what they brought."""
    return tuple(
        r for r in replay.rules if r.kind != KINDS[3] and r.return_on_outlay is not None and r.won
    )


def replay_figure(replay: Replay, *, narrow: bool = False) -> Figure:
    """Draw a mark for each rule: share of lots won against margin per unit of outlay.

    Parameters
    ----------
    replay : Replay
        Of which :func:`drawn_rules` gives at least one.
    narrow : bool, default False
        True for a phone: the names of the rules stand below the marks.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; rules differ in shape or filling, and each has its letter.
    """
    rules = drawn_rules(replay)
    figure, axes = blank_axes(3.7 if narrow else 7.4, 3.6 + 0.21 * len(rules) * narrow)
    _scales(axes, replay, rules, narrow=narrow)
    for rule in rules:
        _draw(axes, replay, rule)
    _names(axes, replay, rules, narrow=narrow)
    return figure


def replay_chart(replay: Replay) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: replay_figure(replay, narrow=slim),
        name="rules",
        title="Share of lots won and margin per unit of outlay, rule by rule",
        description=_describe(replay),
    )
    every = _every(replay)
    said = (
        f" Dashed line: every lot bought at its price, {every:+.1f}%." if every is not None else ""
    )
    return Chart(wide, narrow, _CAPTION.format(every=said))


def _every(replay: Replay) -> float | None:
    """Return what a unit of outlay brings if every lot is bought, in per cent."""
    found = [r.return_on_outlay for r in replay.rules if r.kind == KINDS[3]]
    return 100 * found[0].value if found and found[0] is not None else None


def _scales(axes: Axes, replay: Replay, rules: tuple[RuleResult, ...], *, narrow: bool) -> None:
    ends = [0.0] + [100 * x for r in rules for x in _span(r)]
    every = _every(replay)
    ends += [] if every is None else [every]
    room = 0.06 * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(min(ends) - room, max(ends) + room)
    most = max(r.share_won.value for r in rules)
    top = _height(most)
    # On a phone the names take the lower part, a line each.
    below = 0.075 * len(rules) if narrow else 0.0
    axes.set_ylim(-top * (0.06 + below), 1.12 * top)
    axes.xaxis.set_major_locator(MaxNLocator(nbins=4 if narrow else 7))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}%"))
    marked = [share for share in _MARKED if share <= most] or [0.0]
    axes.set_yticks([_height(share) for share in marked], [f"{100 * s:g}%" for s in marked])
    axes.tick_params(axis="y", colors=INK, labelsize=9, length=0)
    axes.grid(color=FAINT, linewidth=0.6)
    label: dict[str, Any] = {"color": QUIET, "fontsize": 9}
    axes.set_xlabel("Margin per unit of outlay", **label)
    axes.set_ylabel("Lots won", **label)
    axes.plot([0, 0], [0, 1.08 * top], color=INK, linewidth=1.0, zorder=1)
    if every is not None:
        dashed: dict[str, Any] = {"linewidth": 1.0, "linestyle": (0, (4, 3)), "zorder": 1}
        axes.plot([every] * 2, [0, 1.08 * top], color=INK, **dashed)


_MARKED = (0.0, 0.01, 0.03, 0.06, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0)
"""Shares that get a line."""


def _height(share: float) -> float:
    """Return where a share is drawn: its root, as limits differ among small shares."""
    return float(share**0.5)


def _span(rule: RuleResult) -> tuple[float, float]:
    earned = rule.return_on_outlay
    return (earned.low, earned.high) if earned is not None else (0.0, 0.0)


def _style(replay: Replay, rule: RuleResult) -> dict[str, Any]:
    """Return shape and filling of a rule: a limit has one shape, corrected or not."""
    like = [r.level or 0 for r in replay.rules if r.kind == rule.kind]
    shapes = _LIMITS if rule.kind == KINDS[0] else _SHARES
    place = sorted(set(like)).index(rule.level or 0)
    filled = (rule.kind == KINDS[0] and rule.corrected) or rule.kind == KINDS[1]
    return {
        "marker": shapes[place % len(shapes)],
        "color": INK if filled else PAPER,
        "markeredgecolor": INK,
        "markeredgewidth": 1.2,
        "markersize": 8,
        "linestyle": "none",
        "zorder": 4,
    }


def _draw(axes: Axes, replay: Replay, rule: RuleResult) -> None:
    if rule.return_on_outlay is None:
        return
    x, y = 100 * rule.return_on_outlay.value, _height(rule.share_won.value)
    low, high = _span(rule)
    axes.plot([100 * low, 100 * high], [y, y], color=QUIET, linewidth=1.0, zorder=2)
    axes.plot([x], [y], **_style(replay, rule))
    # A share stands at the height of the limit that it matches: its letter goes to the other side.
    below = rule.kind == KINDS[2]
    side: dict[str, Any] = {"ha": "right", "va": "top"} if below else {"va": "bottom"}
    style: dict[str, Any] = {"fontsize": 9, "fontweight": "bold", "zorder": 5, **side}
    write_text(axes, x, y, rule_letter(replay, rule), shift=-7 if below else 7, **style)


def _names(axes: Axes, replay: Replay, rules: tuple[RuleResult, ...], *, narrow: bool) -> None:
    """Write the name of each rule with its mark: beside the marks, on a phone below them."""
    left, right = axes.get_xlim()
    bottom, top = axes.get_ylim()
    for place, rule in enumerate(rules):
        if narrow:
            x, y = left, bottom * (0.25 + 0.75 * (place + 0.5) / len(rules))
        else:
            x, y = right, top - (top - bottom) * (place + 0.5) / max(len(rules), 12)
        style = _style(replay, rule) | {"markersize": 6, "clip_on": False}
        at = x + (right - left) * 0.035
        axes.plot([at], [y], **style)
        letter = rule_letter(replay, rule)
        write_text(axes, at, y, f"{letter}  {_short(rule)}", shift=8, fontsize=9)


def _short(rule: RuleResult) -> str:
    """Return the name of a rule as short as it can be told beside its letter."""
    if rule.kind == KINDS[0]:
        return f"limit {rule.level or 0:.0%}" + ("" if rule.corrected else ", not corrected")
    digits = 1 if rule.kind == KINDS[2] else 0
    return f"{100 * (rule.level or 0):.{digits}f}% of estimate"


def _describe(replay: Replay) -> str:
    said = []
    for rule in drawn_rules(replay):
        earned = rule.return_on_outlay
        if earned is not None:
            said.append(
                f"{rule_letter(replay, rule)}, {rule.name}: wins {rule.share_won.value:.1%} of the "
                f"lots; margin per unit of outlay {earned.value:.1%}, from {earned.low:.1%} to "
                f"{earned.high:.1%}."
            )
    every = _every(replay)
    if every is not None:
        said.append(f"Every lot bought at its price: {every:.1f}%.")
    return " ".join(said)
