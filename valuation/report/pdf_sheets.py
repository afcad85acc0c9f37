"""Where sheets of paper end: headings stay with what follows, tables with their captions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass

from valuation.report.pdf_bricks import Brick
from valuation.report.pdf_tags import Element

__all__ = ["Placed", "on_sheets"]

_AGAIN = 1 / 3
"""Share of a sheet that a heading may take which is drawn again."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A brick and how far below the head of its sheet it stands, in points."""

    brick: Brick
    top: float


def on_sheets(bricks: Sequence[Brick], room: float) -> tuple[tuple[Placed, ...], ...]:
    """Return bricks placed on as many sheets as they need.

    Parameters
    ----------
    bricks : sequence of Brick
        In their order.
    room : float
        Height that a sheet has for them, in points.

    Returns
    -------
    tuple of tuple of Placed
        For each sheet what stands on it; at least one sheet.
    """
    layout = _Layout(room)
    at = 0
    while at < len(bricks):
        chain, wanted = _together(bricks, at, room)
        layout.place(chain, wanted)
        at += len(chain)
    return tuple(map(tuple, layout.sheets))


class _Layout:
    """Sheets while they are filled."""

    def __init__(self, room: float) -> None:
        self._room = room
        self._y = 0.0
        self.sheets: list[list[Placed]] = [[]]

    def place(self, chain: Sequence[Brick], wanted: float) -> None:
        """Place bricks that stick to one another, on another sheet if that is better.

        `wanted` is the height of all that had better stand on one sheet with them.
        """
        if self.sheets[-1] and self._has_to_wait(chain, wanted):
            self._next_sheet()
        for brick in chain:
            rest: Brick | None = brick
            while rest is not None:
                rest = self._add(rest)

    def _has_to_wait(self, chain: Sequence[Brick], wanted: float) -> bool:
        left = self._room - self._y
        fresh = self._room - _height_again(chain[0], self._room) + chain[0].before
        blank = max(brick.blank for brick in chain)
        if left < wanted <= fresh and left < blank * self._room:
            return True
        needed = _height(chain)
        return left < needed <= fresh

    def _add(self, brick: Brick) -> Brick | None:
        """Place as much of a brick as fits here; return what is left for the next sheet."""
        left = self._start(brick)
        if brick.height <= left:
            self._put(brick)
            return None
        fresh = self._room - _height_again(brick, self._room)
        parts = brick.cut(left, anywhere=brick.height > fresh)
        if parts is None and not self._is_begun(brick):
            self._put(brick)
            return None
        if parts is not None:
            self._put(parts[0])
        self._next_sheet()
        return parts[1] if parts else brick

    def _start(self, brick: Brick) -> float:
        """Go to where a brick begins; return what is left of the sheet below."""
        if self.sheets[-1]:
            self._y += brick.before
        else:
            for head in _again(brick, self._room):
                self._put(head)
        return self._room - self._y

    def _is_begun(self, brick: Brick) -> bool:
        """Tell whether more stands on the sheet than what is drawn again for a brick."""
        heads = _again(brick, self._room)
        return any(placed.brick not in heads for placed in self.sheets[-1])

    def _put(self, brick: Brick) -> None:
        self.sheets[-1].append(Placed(brick, self._y))
        self._y += brick.height

    def _next_sheet(self) -> None:
        self.sheets.append([])
        self._y = 0.0


def _together(bricks: Sequence[Brick], at: int, room: float) -> tuple[Sequence[Brick], float]:
    """Return the bricks that stick to one another from one on, and the height of their groups.

    The height is that of all bricks of the groups that begin here, with what stands before them;
    0 if none does.
    """
    end = at + 1
    while end < len(bricks) and bricks[end - 1].sticks:
        end += 1
    chain = bricks[at:end]
    begun = bricks[at - 1].group if at else None
    groups = {brick.group for brick in chain if brick.group is not None} - {begun}
    if not groups:
        return chain, 0.0
    wanted = 0.0
    for brick in (*chain, *_rest(bricks, end, groups)):
        wanted += brick.before + brick.height
        if wanted > room + chain[0].before:
            break
    return chain, wanted


def _rest(bricks: Sequence[Brick], at: int, groups: Set[Element | None]) -> Iterator[Brick]:
    while at < len(bricks) and bricks[at].group in groups:
        yield bricks[at]
        at += 1


def _height(chain: Sequence[Brick]) -> float:
    """Return what bricks need at least that stick to one another."""
    return sum(b.before + b.height for b in chain[:-1]) + chain[-1].before + chain[-1].least


def _again(brick: Brick, room: float) -> Sequence[Brick]:
    return brick.again if sum(head.height for head in brick.again) <= _AGAIN * room else ()


def _height_again(brick: Brick, room: float) -> float:
    return sum(head.height for head in _again(brick, room))
