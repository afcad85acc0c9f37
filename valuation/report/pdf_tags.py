"""What the parts of a PDF are, for readers who hear it: a tree of headings, tables and drawings.

The elements are those of ISO 32000-1, 14.8.4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString

__all__ = ["Element", "write_tree"]


@dataclass(slots=True, eq=False)
class Element:
    """One part of a document and what stands in it.

    Parameters
    ----------
    kind : str
        A standard structure type such as ``H2``, ``P``, ``TH`` or ``Figure``.
    alt : str
        Read out in place of a drawing or a picture.
    scope : {"", "Column", "Row"}
        What a heading of a table is the heading of.
    """

    kind: str
    alt: str = ""
    scope: str = ""
    children: list[Element] = field(default_factory=list)
    marks: list[tuple[int, int]] = field(default_factory=list)
    """Sheet and number of each piece of content, in order."""

    def add(self, kind: str, *, alt: str = "", scope: str = "") -> Element:
        """Return a new element inside this one, behind those it has."""
        child = Element(kind, alt, scope)
        self.children.append(child)
        return child


def write_tree(document: Any, root: Element, sheets: Sequence[Sequence[Element]]) -> None:
    """Write the tree into a document whose sheets have been drawn.

    Parameters
    ----------
    document : reportlab.pdfbase.pdfdoc.PDFDocument
        Where it goes.
    root : Element
        The whole document.
    sheets : sequence of sequence of Element
        For each sheet the elements of its pieces of content, by their number.
    """
    tree = PDFDictionary({"Type": PDFName("StructTreeRoot")})
    top = document.Reference(tree)
    pages = [document.Reference(page) for page in document.Pages.pages]
    places: dict[Element, Any] = {}
    tree["K"] = _write(document, root, top, pages, places)
    numbers: list[Any] = []
    for number, (page, elements) in enumerate(zip(document.Pages.pages, sheets, strict=True)):
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
        page.StructParents, page.Tabs = number, PDFName("S")
        numbers += [number, document.Reference(PDFArray([places[e] for e in elements]))]
    tree["ParentTree"] = document.Reference(PDFDictionary({"Nums": PDFArray(numbers)}))
    tree["ParentTreeNextKey"] = len(sheets)
    document.Catalog.StructTreeRoot = tree
    document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def _write(
    document: Any, element: Element, parent: Any, pages: Sequence[Any], places: dict[Element, Any]
) -> Any:
    """Write an element and all inside it; return the reference to it."""
    entry = PDFDictionary({"Type": PDFName("StructElem"), "S": PDFName(element.kind), "P": parent})
    place = places[element] = document.Reference(entry)
    content = [_piece(pages[sheet], number) for sheet, number in element.marks]
    inside = [_write(document, child, place, pages, places) for child in element.children]
    entry["K"] = PDFArray([*content, *inside])
    if element.alt:
        entry["Alt"] = PDFString(element.alt)
    if element.scope:
        scope = {"O": PDFName("Table"), "Scope": PDFName(element.scope)}
        entry["A"] = PDFDictionary(scope)
    return place


def _piece(page: Any, number: int) -> PDFDictionary:
    return PDFDictionary({"Type": PDFName("MCR"), "Pg": page, "MCID": number})
