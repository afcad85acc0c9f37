"""What goes wrong is one sentence and exit code 2, never a traceback."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

Run = Callable[..., subprocess.CompletedProcess[str]]


def assert_sentence(done: subprocess.CompletedProcess[str], said: str) -> None:
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert done.stderr == f"valuation: {said}\n"


def test_a_missing_sale_file(run: Run, tmp_path: Path) -> None:
    done = run("fit", "--sales", tmp_path / "none.csv", "--model", tmp_path / "m")
    assert_sentence(
        done,
        "none.csv: it can't be read (got: No such file or directory). "
        "Check the name and that the file is whole.",
    )


def test_a_map_that_is_none(run: Run, data: Path, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("format = 99\n", encoding="utf-8")
    done = run("check", data / "sales.csv", "--map", wrong)
    assert_sentence(done, "wrong.toml: the format is not known (got: 99). Write format = 1 on top.")


def test_a_map_of_another_file(run: Run, data: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text('format = 1\n[columns.price]\ncolumn = "Erlös"\n', encoding="utf-8")
    done = run("check", data / "sales.csv", "--map", other)
    assert done.returncode == 2
    assert done.stderr.startswith(
        "valuation: sales.csv: the map names columns that the file does not have: Erlös (got: "
    )
    assert done.stderr.endswith("Correct the names in the map.\n")


def test_a_missing_car_and_a_missing_model(run: Run, data: Path, model: Path) -> None:
    car = data / "cars" / "ordinary.toml"
    done = run("price", data / "none.toml", "--model", model)
    assert done.returncode == 2
    assert done.stderr.startswith("valuation: ")
    assert "none.toml" in done.stderr
    missing = data / "none.model"
    done = run("price", car, "--model", missing)
    assert_sentence(done, f"{missing}: there is no such file (got: nothing). Fit a model first.")


def test_a_car_with_faults_hears_of_all_of_them(run: Run, model: Path, tmp_path: Path) -> None:
    car = tmp_path / "car.toml"
    car.write_text('make = "Torvane"\nyear = 3000\ncondition_grade = 640\n', encoding="utf-8")
    done = run("price", car, "--model", model)
    assert done.returncode == 2
    assert "year" in done.stderr
    assert "condition_grade" in done.stderr


def test_a_damaged_model_is_refused(run: Run, data: Path, model: Path, tmp_path: Path) -> None:
    car = data / "cars" / "ordinary.toml"
    whole = model.read_bytes()
    cut, flipped = tmp_path / "cut.model", tmp_path / "flipped.model"
    cut.write_bytes(whole[: len(whole) // 2])
    middle = len(whole) // 2
    flipped.write_bytes(whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :])
    for path in (cut, flipped):
        done = run("price", car, "--model", path)
        assert done.returncode == 2
        assert done.stderr.count("\n") == 1
        assert done.stderr.startswith(
            f"valuation: {path.name}: the model is damaged or was changed, and is not used (got: "
        )


def test_too_few_sales(run: Run, data: Path, tmp_path: Path) -> None:
    few = tmp_path / "few.csv"
    lines = (data / "sales.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    few.write_text("".join(lines[:11]), encoding="utf-8")
    done = run("fit", "--sales", few, "--model", tmp_path / "m")
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("valuation: ")
    assert not (tmp_path / "m").exists()


def test_rejects_that_cannot_be_written(run: Run, data: Path, tmp_path: Path) -> None:
    done = run("check", data / "sales.csv", "--rejects", tmp_path)
    assert_sentence(
        done,
        f"{tmp_path}: the file can't be written there (got: a folder has that name). "
        "Name a file in a folder you may write to.",
    )


def test_a_place_that_cannot_be_written_to(
    run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    page = tmp_path / "file" / "page.html"
    done = run("price", data / "cars" / "ordinary.toml", "--model", model, "--page", page)
    assert_sentence(
        done,
        f"{page}: the page can't be written there (got: File exists). "
        "Name a file in a folder you may write to.",
    )
