"""The picture of a car, made anew: what it shows is kept, and nothing else."""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

from valuation.errors import SettingsError
from valuation.results.customer_sheet_parts import CarPicture

__all__ = ["picture_of"]

LONGEST = 1200
"""Pixels of the longer side, at most: sharp on paper, and small enough to be mailed."""

_QUALITY = 82

_FORMATS = ("JPEG", "PNG")


def picture_of(content: bytes, *, name: str) -> CarPicture:
    """Read a picture and draw it anew on a clean sheet.

    Parameters
    ----------
    content : bytes
        A JPEG or PNG file.
    name : str
        What it is called, for the error.

    Returns
    -------
    CarPicture
        A JPEG without place, day, camera, path or preview; turned as the camera was held, at most
        :data:`LONGEST` pixels long, see-through parts on white.

    Raises
    ------
    SettingsError
        If it is no such file, or is damaged.
    """
    try:
        with warnings.catch_warnings():
            # A picture so large that it may be an attack is refused like one that can't be read.
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=_FORMATS) as opened:
                drawn = _on_white(ImageOps.exif_transpose(opened))
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
        raise _unreadable(name, "no whole JPEG or PNG file") from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _unreadable(name, "more pixels than a photograph has") from error
    drawn.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
    # A fresh image holds pixels alone, so nothing of the file can come along.
    clean = Image.new("RGB", drawn.size)
    clean.paste(drawn)
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return CarPicture(out.getvalue(), *clean.size)


def _on_white(image: Image.Image) -> Image.Image:
    clear = image.convert("RGBA")
    ground = Image.new("RGBA", clear.size, "white")
    ground.alpha_composite(clear)
    return ground.convert("RGB")


def _unreadable(name: str, got: str) -> SettingsError:
    return SettingsError(
        name, "the picture can't be read", got=got, remedy="Give a JPEG or PNG of the car"
    )
