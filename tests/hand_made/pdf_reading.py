"""What a reader of a PDF meets: its words, its tree of parts, its typefaces."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from typing import Any
from xml.etree import ElementTree as ET

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from valuation.report.page import Block, Bullets, Chart, Figures, Grid, Page, Paragraph, Section


def reader(pdf: bytes) -> PdfReader:
    """Return what reads a PDF."""
    return PdfReader(io.BytesIO(pdf), strict=True)


def sheet_texts(pdf: bytes) -> list[str]:
    """Return the words of each sheet, with what stands at its foot."""
    return [sheet.extract_text() for sheet in reader(pdf).pages]


def words(pdf: bytes, page: Page) -> list[str]:
    """Return the words of a PDF in their order, without bullets and what stands at the feet."""
    out: list[str] = []
    texts = sheet_texts(pdf)
    for number, text in enumerate(texts, start=1):
        foot = f"{number} of {len(texts)} {page.notice}".split()
        found = text.split()
        assert found[len(found) - len(foot) :] == foot
        out += [word for word in found[: len(found) - len(foot)] if word != "•"]
    return out


def page_words(page: Page) -> list[str]:
    """Return the words of a page held as data, in the order in which they are read."""
    said = [page.notice, page.title, page.subtitle]
    for section in page.sections:
        said.append(section.heading)
        for block in section.blocks:
            said += _texts(block)
    return " ".join(said).split()


def _texts(block: Block) -> Iterator[str]:
    if isinstance(block, Paragraph):
        yield block.text
    elif isinstance(block, Bullets):
        yield from block.items
    elif isinstance(block, Figures):
        yield from (text for pair in block.pairs for text in pair)
    elif isinstance(block, Grid):
        yield block.caption
        for row in (block.columns, *block.rows):
            yield from (text for cell in row for text in (cell.text, cell.mark, cell.note))
    elif isinstance(block, Chart):
        yield from drawn_words(block.wide)
        yield block.caption


def drawn_words(svg: str) -> list[str]:
    """Return the texts that stand in a drawing."""
    return [node.text or "" for node in ET.fromstring(svg).iter() if node.tag.endswith("text")]  # noqa: S314


def fonts(pdf: bytes) -> Iterator[Mapping[str, Any]]:
    """Yield every font that a sheet may use."""
    for sheet in reader(pdf).pages:
        for font in sheet["/Resources"].get_object()["/Font"].get_object().values():
            yield font.get_object()


def parts(pdf: bytes) -> list[DictionaryObject]:
    """Return the parts of a tagged PDF in the order in which they are read."""
    root = reader(pdf).root_object["/StructTreeRoot"].get_object()
    return list(_inside(root["/K"].get_object()))


def _inside(part: DictionaryObject) -> Iterator[DictionaryObject]:
    yield part
    for child in part["/K"]:
        if isinstance(child, IndirectObject):
            yield from _inside(child.get_object())


def kinds(pdf: bytes) -> list[str]:
    """Return the kinds of all parts of a tagged PDF."""
    return [str(part["/S"])[1:] for part in parts(pdf)]


def section_of(*blocks: Block) -> Section:
    """Return a section of given blocks."""
    return Section("some", "Some section", blocks)


def page_of(*blocks: Block, **changes: Any) -> Page:
    """Return a page of given blocks in one section."""
    return Page("A page", "said once", (section_of(*blocks),), **changes)
