from __future__ import annotations

import pytest

from valuation.reading.gearbox import Gearbox, gearbox_words, read_gearbox
from valuation.schema import BY_NAME


@pytest.mark.parametrize(
    ("text", "kind", "gears"),
    [
        ("4-spd", "", 4),
        ("M/T", "manual", None),
        ("A/T", "automatic", None),
        ("5-Speed Manual Transaxle", "manual", 5),
        ("Four-Speed Manual Gearbox", "manual", 4),
        ("4-Speed Manual with Overdrive", "manual", 5),
        ("4-Speed Automatic w/Overdrive", "automatic", 4),
        ("Semi-Auto", "semi-automatic", None),
        ("Semi auto", "semi-automatic", None),
        ("Semiauto", "semi-automatic", None),
        ("6-Speed Automated Manual", "semi-automatic", 6),
        ("preselector", "semi-automatic", None),
        ("7-Speed DCT", "dual-clutch", 7),
        ("Doppelkupplungsgetriebe", "dual-clutch", None),
        ("CVT", "continuously variable", None),
        ("Schaltgetriebe", "manual", None),
        ("5-Gang manuell", "manual", 5),
        ("Automatik", "automatic", None),
        ("Boîte manuelle 5 rapports", "manual", 5),
        ("Automatique", "automatic", None),
        ("Cambio manuale 5 marce", "manual", 5),
        ("Manual de 5 velocidades", "manual", 5),
        ("Handgeschakeld", "manual", None),
        ("Manualna", "manual", None),
        ("Automatyczna hydrauliczna (klasyczna)", "automatic", None),
        ("Manuell", "manual", None),
        ("BVM5", "manual", 5),
        ("3-on-the-tree", "", None),
        ("2 wheel drive - rear", "", None),
        ("Berline", "", None),
        ("", "", None),
        ("n/a", "", None),
    ],
)
def test_gearboxes(text: str, kind: str, gears: int | None) -> None:
    assert read_gearbox(text) == Gearbox(kind, gears)
    assert kind == "" or kind in BY_NAME["transmission"].levels


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Rebuilt Column-Shifted 3-Speed Manual Gearbox", ("rebuilt", "column-shifted")),
        ("G50 5-Speed Transaxle", ("g50",)),
        ("5-Speed Manual Transmission", ()),
        ("automatic", ()),
        ("4-Speed w/Overdrive", ("overdrive",)),
        ("4-Speed w/ OD", ("overdrive",)),
        ("7-Speed Dual-Clutch", ()),
        ("Numbers-Matching 4-Speed", ("numbers-matching",)),
        ("", ()),
    ],
)
def test_gearbox_words(text: str, words: tuple[str, ...]) -> None:
    assert gearbox_words(text) == words
