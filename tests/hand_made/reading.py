"""What a reader meets in a section, a chart or a page."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from xml.etree import ElementTree as ET

from valuation.report.page import Grid, Paragraph, Section
from valuation.report.render import render_section

VOID = {"meta", "br", "link", "img", "hr", "input"}


def shown(section: Section) -> str:
    """Return what a section says: no style, no drawings, no empty lines."""
    html = render_section(section)
    html = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    html = re.sub(r"<svg.*?<desc[^>]*>(.*?)</desc>.*?</svg>", r"[\1]", html, flags=re.DOTALL)
    return "\n".join(line for line in html.splitlines() if line.strip())


def grids(section: Section) -> list[Grid]:
    """Return the tables of a section."""
    return [b for b in section.blocks if isinstance(b, Grid)]


def texts(section: Section, weight: str) -> list[str]:
    """Return the paragraphs of a section that are set in one way."""
    return [b.text for b in section.blocks if isinstance(b, Paragraph) and b.weight == weight]


def words_in(svg: str) -> str:
    """Return all words of a drawing, with its text alternative."""
    return " ".join(ET.fromstring(svg).itertext())  # noqa: S314


def in_units(text: str) -> int:
    """Return an amount in whole units as a number."""
    return int(text.replace(",", ""))


class Outline(HTMLParser):
    """Checks that every element is closed in order and collects what a reader hears."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def outline(html: str) -> Outline:
    """Return the elements of a page, all of them closed in order."""
    parser = Outline()
    parser.feed(html)
    parser.close()
    assert parser.open == []
    return parser


def headings(html: str) -> list[str]:
    """Return the second-rank headings of a page."""
    return re.findall(r"<h2[^>]*>(.*?)</h2>", html)


def plain(html: str) -> str:
    """Return the text of a page, each element on a line of its own."""
    html = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    return re.sub(r"<[^>]*>", "\n", html)
