"""The decision of a month: what was decided, rule by rule, and what was read in."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.words import capital
from valuation.results.decision import Decision, RuleCheck
from valuation.results.month import FileRead, MonthStudy

__all__ = ["decision_section", "files_section"]

_WEIGHED = {
    "holds": "holds",
    "warns": "look here",
    "refuses": "against",
    "not tested": "not tested",
}


def decision_section(study: MonthStudy) -> Section:
    """Return what was decided and why, rule by rule.

    Parameters
    ----------
    study : MonthStudy
        The month.
    """
    return Section("decision", "Keep or replace", tuple(_blocks(study)))


def _blocks(study: MonthStudy) -> Iterator[Block]:
    decision = study.decision
    yield Paragraph(decision.sentence, "lead" if decision.publish else "warning")
    yield Figures(tuple(_figures(study)))
    if decision.reasons:
        yield Paragraph(
            "What to keep an eye on:" if decision.publish else "Why it was refused:", "lead"
        )
        yield Bullets(decision.reasons)
    yield _rules(decision)
    yield Paragraph(
        "A limit is broken only by more than chance explains (intervals at 95%). What the model "
        "in use gets wrong as well, on the same sales, is no reason to keep it.",
        "quiet",
    )


def _figures(study: MonthStudy) -> Iterator[tuple[str, str, str]]:
    a = study.accuracy
    answer = "Published" if study.decision.publish else "Not published"
    yield "Decision", answer, study.decision.candidate
    yield "Evidence", f"{study.sales:,}", "sales that the candidate rests on"
    if a.median_abs_pct_error is not None:
        said = f"median error of {a.tested:,} sales priced before they were known"
        yield "Error", f"{a.median_abs_pct_error:.1f}%", said
    if a.coverage_80 is not None:
        yield "Ranges held", f"{a.coverage_80:.0f}%", "of the 80% ranges"


def _rules(decision: Decision) -> Grid:
    columns = (Cell("Rule"), Cell("It says"), Cell("Found"), Cell("Allowed"))
    rows = tuple(_rule(check) for check in decision.checks)
    return Grid("Every rule, and what was found", columns, rows, style="told")


def _rule(check: RuleCheck) -> tuple[Cell, ...]:
    said = _WEIGHED[check.weighed]
    marked = check.weighed in ("warns", "refuses")
    return (
        Cell(capital(check.rule)),
        Cell("" if marked else said, mark=said if marked else ""),
        Cell(check.found or "–"),
        Cell(check.limit or "–"),
    )


def files_section(study: MonthStudy) -> Section:
    """Return what became of the files of the inbox.

    Parameters
    ----------
    study : MonthStudy
        The month.
    """
    new = [f for f in study.files if f.outcome != "known"]
    known = len(study.files) - len(new)
    blocks: list[Block] = []
    if new:
        columns = (
            Cell("File"),
            Cell("What became of it"),
            Cell("Rows", number=True),
            Cell("Accepted", number=True),
            Cell("Set aside", number=True),
        )
        blocks.append(Grid("Files of the inbox", columns, tuple(map(_file, new)), style="told"))
    else:
        blocks.append(Paragraph("The inbox held nothing new."))
    if known:
        blocks.append(
            Paragraph(f"Known already, nothing added: {known:,} {_files(known)}.", "quiet")
        )
    if study.notes:
        blocks.append(Bullets(study.notes))
    return Section("files", "What was read in", tuple(blocks))


def _files(count: int) -> str:
    return "file" if count == 1 else "files"


def _file(read: FileRead) -> tuple[Cell, ...]:
    if read.outcome == "refused":
        dash = Cell("–", number=True)
        return (Cell(read.file), Cell("", read.why, mark="not read in"), dash, dash, dash)
    held = read.status == "held"
    became = Cell(
        "" if held else read.outcome,
        read.why or f"batch {read.batch}, {read.kind}",
        mark=read.status if held else "",
    )
    counts = (read.rows, read.accepted, read.set_aside)
    return (Cell(read.file), became, *(Cell(f"{n:,}", number=True) for n in counts))
