"""Mails, PDFs and other files with lots in them, and those that are refused."""

from __future__ import annotations

import gzip
import io
import zipfile
from collections.abc import Callable, Sequence
from email.message import EmailMessage
from pathlib import Path

import openpyxl
import pypdf
import pytest

from valuation.errors import LotFileError
from valuation.importing import lot_sources
from valuation.importing.lots import read_lots

CSV = b"Lot,Car,Low est,High est\n7,1967 Torvane GT,40000,50000\n8,1968 Torvane GT,41000,52000\n"
TEXT = "Lot 1: 1968 Torvane GT\nLot 2: 1970 Torvane GT, est 20-30k EUR\n"
TABLE = (
    "<table><tr><th>Lot</th><th>Car</th><th>Estimate</th></tr>"
    "<tr><td>3</td><td>1968 Torvane GT</td><td>€40,000 - 50,000</td></tr>"
    "<tr><td>4</td><td>1969 Torvane GT</td><td>€41,000 - 51,000</td></tr>"
    "<tr><td>5</td><td>1970 Torvane GT</td><td>€42,000 - 52,000</td></tr></table>"
)


def pdf_bytes(pages: Sequence[Sequence[tuple[int, str]]]) -> bytes:
    """Write a PDF of lines, each with its place from the left, by hand (ISO 32000-1)."""
    kids = " ".join(f"{3 + 2 * i} 0 R" for i in range(len(pages)))
    objects = [
        "<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>",
    ]
    font = "<< /Type /Font /Subtype /Type1 /BaseFont /Courier /Encoding /WinAnsiEncoding >>"
    for i, lines in enumerate(pages):
        drawn = []
        for y, (x, line) in enumerate(lines):
            safe = line.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
            drawn.append(f"BT /F1 10 Tf {x} {780 - 14 * y} Td ({safe}) Tj ET")
        stream = "\n".join(drawn)
        objects.append(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] "
            f"/Resources << /Font << /F1 {font} >> >> /Contents {4 + 2 * i} 0 R >>"
        )
        length = len(stream.encode("cp1252"))
        objects.append(f"<< /Length {length} >>\nstream\n{stream}\nendstream")
    out, places = b"%PDF-1.4\n", []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += f"{number} 0 obj\n{body}\nendobj\n".encode("cp1252")
    table = "".join(f"{place:010d} 00000 n \n" for place in places)
    end = f"trailer << /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF\n"
    return out + f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n{table}{end}".encode()


def lines(*texts: str) -> list[tuple[int, str]]:
    return [(40, text) for text in texts]


Save = Callable[[str, bytes], Path]


@pytest.fixture
def save(tmp_path: Path) -> Save:
    def write(name: str, data: bytes) -> Path:
        path = tmp_path / name
        path.write_bytes(data)
        return path

    return write


def mail(text: str = "", html: str = "", files: Sequence[tuple[str, bytes]] = ()) -> bytes:
    message = EmailMessage()
    message["Subject"] = "Run list for Friday"
    message["From"] = "ida@example.org"
    message.set_content(text or " ")
    if html:
        message.add_alternative(html, subtype="html")
    for name, data in files:
        message.add_attachment(data, maintype="application", subtype="octet-stream", filename=name)
    return message.as_bytes()


def numbers(path: Path | str) -> list[str]:
    return [lot.number for lot in read_lots(path).lots]


def test_the_text_of_a_mail(save: Save) -> None:
    read = read_lots(save("a.eml", mail(f"Hello Tom,\n\n{TEXT}\nRegards,\nIda\n")))
    assert [(x.number, x.file, x.estimate) for x in read.lots] == [
        ("1", "a.eml", ""), ("2", "a.eml", "20,000 to 30,000 EUR"),
    ]  # fmt: skip
    assert [n.split(": ")[1] for n in read.notes] == [
        "lines before the first lot that are not read as lots",
        "lines behind the last lot that are not read as lots",
    ]


def test_a_table_in_the_body_counts_where_it_holds_more_lots(save: Save) -> None:
    assert numbers(save("a.eml", mail(TEXT, TABLE))) == ["3", "4", "5"]
    longer = "Lot 3 1971 Torvane GT\nLot 4 1972 Torvane GT\n"
    assert numbers(save("b.eml", mail(TEXT + longer, TABLE))) == ["1", "2", "3", "4"]


def test_an_attachment_wins_if_it_holds_lots(save: Save) -> None:
    files = [("logo.png", b"\x89PNG\r\n"), ("friday.csv", CSV), ("terms.txt", b"Pay in cash.")]
    read = read_lots(save("a.eml", mail(TEXT, TABLE, files)))
    assert [(x.number, x.file) for x in read.lots] == [
        ("7", "a.eml, friday.csv"), ("8", "a.eml, friday.csv"),
    ]  # fmt: skip
    assert [n for n in read.notes if n.startswith("Not read")] == [
        "Not read: a.eml, logo.png: it is a picture. Have it put through text recognition, or ask "
        "the house for a spreadsheet.",
        'Not read: a.eml, terms.txt: no lot is recognised in the text (got: "Pay in cash."). '
        'Write each lot on a line of its own, such as "Lot 112  1968 Torvane GT Coupe".',
    ]
    assert numbers(save("b.eml", mail(TEXT, files=[files[0], files[2]]))) == ["1", "2"]


def test_of_two_attachments_the_longer_list_is_read_and_the_other_named(save: Save) -> None:
    pdf = pdf_bytes([lines("Lot 1 1968 Torvane GT", "Lot 2 1969 Torvane GT", "Lot 3 1970 Torvane")])
    read = read_lots(save("a.eml", mail(files=[("fri.csv", CSV), ("all.pdf", pdf)])))
    assert {x.file for x in read.lots} == {"a.eml, all.pdf"}
    said = "a.eml, fri.csv: lots stand there too (2) and are not read; read it by itself."
    assert said in read.notes


def test_a_mail_that_was_sent_on(save: Save) -> None:
    inner = EmailMessage()
    inner["Subject"] = "List"
    inner.set_content("see below")
    inner.add_attachment(CSV, maintype="text", subtype="csv", filename="friday.csv")
    outer = EmailMessage()
    outer["Subject"], outer["From"] = "Fwd: List", "tom@example.org"
    outer.set_content("for you")
    outer.add_attachment(inner)
    assert numbers(save("fwd.eml", outer.as_bytes())) == ["7", "8"]


def test_a_mail_without_its_ending_is_known_by_its_headers(save: Save) -> None:
    assert numbers(save("a.txt", mail(TEXT))) == ["1", "2"]


def test_a_mail_in_old_letters(save: Save) -> None:
    raw = (
        b"Subject: Liste\nFrom: ida@example.org\nMIME-Version: 1.0\n"
        b"Content-Type: text/plain; charset=iso-8859-1\n\nLos 1: 1968 Torvane GT Coup\xe9\n"
    )
    assert read_lots(save("a.eml", raw)).lots[0].car.title == "1968 Torvane GT Coupé"


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"Subject: x\nFrom: y\n\n", "the mail is empty"),
        (mail("Hello Tom, see you on Friday."), "no lot is recognised in the text"),
    ],
)
def test_mails_without_lots_are_refused(save: Save, data: bytes, problem: str) -> None:
    with pytest.raises(LotFileError, match=problem):
        read_lots(save("a.eml", data))


def test_a_pdf_of_entries(save: Save) -> None:
    pages = [
        lines(
            "Harbour Rooms", "Lot 1", "1968 Torvane GT", "Estimate EUR 40,000 - 50,000", "Page 1"
        ),
        lines("Harbour Rooms", "Lot 2", "1970 Torvane GT", "No reserve", "Page 2"),
        lines("Harbour Rooms", "Lot 3", "1971 Torvane GT (red)", "Page 3"),
    ]
    read = read_lots(save("a.pdf", pdf_bytes(pages)))
    assert [(x.number, x.car.title, x.estimate, x.reserve_kind) for x in read.lots] == [
        ("1", "1968 Torvane GT", "40,000 to 50,000 EUR", "not stated"),
        ("2", "1970 Torvane GT", "", "none"),
        ("3", "1971 Torvane GT (red)", "", "not stated"),
    ]
    assert read.notes[0] == (
        'a.pdf: lines that come back on its pages and are not read: 5 (such as "Page 1").'
    )


def test_a_pdf_of_a_table(save: Save) -> None:
    def row(*cells: str) -> tuple[int, str]:
        return 40, "".join(c.ljust(w) for c, w in zip(cells, (8, 40, 22), strict=True))

    head = row("Lot", "Description", "Estimate")
    first = [head, row("1", "1968 Torvane GT Coupe", "40,000 - 50,000 EUR"), row("", "4-speed", "")]
    second = [head, row("2", "1970 Torvane GT", "30,000 - 35,000 EUR"), row("3", "Enamel sign", "")]
    read = read_lots(save("a.pdf", pdf_bytes([first, second])))
    assert [(x.number, x.car.title, x.estimate) for x in read.lots] == [
        ("1", "1968 Torvane GT Coupe 4-speed", "40,000 to 50,000 EUR"),
        ("2", "1970 Torvane GT", "30,000 to 35,000 EUR"),
    ]
    assert [f.code for s in read.set_aside for f in s.faults] == ["no car"]


def test_a_scan_is_refused_with_what_to_do(save: Save) -> None:
    with pytest.raises(LotFileError) as error:
        read_lots(save("scan.pdf", pdf_bytes([[], []])))
    assert str(error.value) == (
        "scan.pdf: it holds no text, only pictures of pages (a scan) (got: 0 signs on 2 pages). "
        "Have it put through text recognition, ask the house for a spreadsheet, or type the lots "
        "into a table."
    )


def locked(word: str) -> bytes:
    writer = pypdf.PdfWriter(
        clone_from=pypdf.PdfReader(io.BytesIO(pdf_bytes([lines(*TEXT.split("\n"))])))
    )
    writer.encrypt(user_password=word, owner_password=f"{word} of the owner", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_an_encrypted_pdf_is_refused_unless_it_opens_without_password(save: Save) -> None:
    with pytest.raises(LotFileError) as error:
        read_lots(save("a.pdf", locked("secret")))
    assert str(error.value) == (
        "a.pdf: the PDF is encrypted. Open it and print it into a new PDF without a password, or "
        "ask for a spreadsheet."
    )
    assert numbers(save("b.pdf", locked(""))) == ["1", "2"]


@pytest.mark.parametrize(
    ("name", "data", "problem"),
    [
        ("a.pdf", b"%PDF-1.4\nnothing more", "it is no PDF that can be opened"),
        ("a.pdf", pdf_bytes([]), "it has no page"),
        ("a.csv", b"", "it is empty"),
        ("a.csv", b"Lot,Car\n", "it holds no rows below its header"),
        ("a.csv", b"Lot,Estimate\n1,40000\n2,30000\n", "no column says which car a lot is"),
        ("a.xlsx", b"PK\x03\x04nonsense", "it is no workbook that can be opened"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1...", "it is of an old kind"),
        ("a.jpg", b"\xff\xd8\xff\xe0 picture", "it is a picture"),
        ("a.csv.gz", b"\x1f\x8bnot packed", "it can't be read"),
        ("a.txt", b"Dear Tom, nothing this week.", "no lot is recognised in the text"),
    ],
)
def test_files_that_are_refused(save: Save, name: str, data: bytes, problem: str) -> None:
    with pytest.raises(LotFileError) as error:
        read_lots(save(name, data))
    assert error.value.where == name
    assert error.value.problem.startswith(problem)
    assert "sales" not in str(error.value)


def test_what_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(LotFileError, match=r"it can't be read \(got: No such file"):
        read_lots(str(tmp_path / "gone.xlsx"))
    with pytest.raises(LotFileError, match="it is empty"):
        read_lots("  \n ")


def test_sizes_are_bounded(save: Save, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lot_sources, "MOST_BYTES", 1000)
    with pytest.raises(LotFileError, match="it is too large for a catalogue"):
        read_lots(save("a.csv", CSV * 100))
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * 300_000)
    monkeypatch.setattr(lot_sources, "MOST_BYTES", 10_000_000)
    monkeypatch.setattr(lot_sources, "_MOST_UNPACKED", 100_000)
    with pytest.raises(LotFileError, match="it is too large for a catalogue"):
        read_lots(save("a.xlsx", bomb.getvalue()))
    with pytest.raises(LotFileError, match="it unpacks to too much"):
        read_lots(save("a.csv.gz", gzip.compress(CSV * 2000)))


def test_packed_files_pages_and_tables_without_names(save: Save) -> None:
    assert numbers(save("a.csv.gz", gzip.compress(CSV))) == ["7", "8"]
    assert numbers(save("a.html", f"<html>{TABLE}</html>".encode())) == ["3", "4", "5"]
    bare = b"7;1967 Torvane GT;40000\n8;1968 Torvane GT;41000\n"
    assert numbers(save("a.csv", bare)) == ["7", "8"]


def test_cells_copied_from_a_spreadsheet() -> None:
    text = "Lot\tCar\tEstimate\n7\t1967 Torvane GT\t40-50k\n\t\t\n8\t1968 Torvane GT\t41-52k\n"
    read = read_lots(text)
    assert [(x.number, x.row, x.file) for x in read.lots] == [
        ("7", 2, "pasted text"), ("8", 4, "pasted text"),
    ]  # fmt: skip


def test_sheets_named_by_their_day(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for i, day in enumerate(("Friday", "Saturday")):
        sheet = book.active if i == 0 else book.create_sheet()
        assert sheet is not None
        sheet.title = day
        sheet.append(["Lot", "Title"])
        sheet.append([7 + i, f"196{i} Torvane GT"])
    book.save(tmp_path / "a.xlsx")
    read = read_lots(tmp_path / "a.xlsx")
    assert [(x.number, x.day, x.order, x.file) for x in read.lots] == [
        ("7", "Friday", 1, "a.xlsx, sheet Friday"), ("8", "Saturday", 2, "a.xlsx, sheet Saturday"),
    ]  # fmt: skip
