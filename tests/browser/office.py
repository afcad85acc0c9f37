"""A spreadsheet program that opens files and saves them as something else."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path


class Office:
    """LibreOffice without a window, with a profile of its own."""

    def __init__(self, profile: Path) -> None:
        program = shutil.which("soffice")
        assert program, "LibreOffice is missing: install Debian's package libreoffice-calc"
        self._words = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless"]

    def convert(self, path: Path, to: str, *, reading: str = "") -> list[Path]:
        """Open a file and save it in another form; return the files that were made."""
        out = path.parent / f"made {len(list(path.parent.iterdir()))}"
        out.mkdir()
        words = [*self._words, "--convert-to", to, "--outdir", str(out)]
        if reading:
            words.append(f"--infilter={reading}")
        found = subprocess.run(
            [*words, str(path)], capture_output=True, text=True, timeout=180, check=True
        )
        made = sorted(out.iterdir())
        assert made, found.stdout + found.stderr
        return made
