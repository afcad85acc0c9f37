"""Write the table of attributes in README anew from the contract."""

from __future__ import annotations

from pathlib import Path

from valuation.schema import ATTRIBUTES, SALE_FIELDS, Attribute

README = Path(__file__).parents[1] / "README.md"
BEGIN = "<!-- attributes: written by tests/attribute_table.py -->"
END = "<!-- end of attributes -->"
SILENCE = {
    "effect": "silence has an effect of its own",
    "typical": "typical of the model line",
    "required": "the row is set aside",
}


def table() -> str:
    """Return both tables, attributes of the car and fields of the sale, as Markdown."""
    lines = ["| column | kind | what it says | if not stated |", "|---|---|---|---|"]
    lines += [
        f"| `{a.name}` | {_kind(a)} | {a.help} | {SILENCE[a.when_silent]} |" for a in ATTRIBUTES
    ]
    lines += ["", "| column of the sale | kind | what it says |", "|---|---|---|"]
    lines += [f"| `{f.name}` | {_words(f.levels) or f.kind} | {f.help} |" for f in SALE_FIELDS]
    return "\n".join(lines)


def with_table(readme: str) -> str:
    """Return README with the tables between its two marks."""
    before, rest = readme.split(BEGIN)
    after = rest.split(END)[1]
    return f"{before}{BEGIN}\n\n{table()}\n\n{END}{after}"


def _kind(attribute: Attribute) -> str:
    if attribute.kind == "number":
        return f"{attribute.unit}, {attribute.low:,g} to {attribute.high:,g}".replace(
            "year, 1,885 to 2,100", "year, 1885 to 2100"
        )
    if attribute.name == "modifications":
        return "words, each `kind/reversible or permanent/period or later`"
    some = "words: " if attribute.kind == "set" else ""
    return f"{some}{_words(attribute.levels) or 'any word'}"


def _words(levels: tuple[str, ...]) -> str:
    return ", ".join(f"`{level}`" for level in levels)


if __name__ == "__main__":
    README.write_text(with_table(README.read_text(encoding="utf-8")), encoding="utf-8")
