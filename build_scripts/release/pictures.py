"""Cleans every picture of a built folder: published are its pixels, upright, and nothing else.

A phone writes into a picture where and when it was taken and by which device, in a dozen places that differ
from format to format: Exif, XMP, comments, thumbnails, makers' notes, a second picture behind the first. So
nothing is cut out. Each picture is read, turned as its orientation says, and written anew in its own format
from its pixels. A colour profile, which may name device and owner, is applied: the pixels are then in the
colours that browsers take for granted (sRGB). The file among the articles stays as it is.

PNG and GIF stay the same to the pixel, and WebP where it was lossless. A JPEG is written with its own tables,
so that it loses next to nothing a second time.
"""

import os
import shutil
import time
import warnings
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from importlib.metadata import version
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFile import ImageFile

FORMATS: Mapping[str, str] = {
    ".avif": "AVIF",
    ".gif": "GIF",
    ".jpeg": "JPEG",
    ".jpg": "JPEG",
    ".png": "PNG",
    ".webp": "WEBP",
}
"""What a browser shows, by the ending of the file."""

HIGHEST_PIXELS = 25_000_000
"""Of all frames together: a phone unpacks them all."""

KEPT_DAYS = 90
"""How long a cleaned picture is kept that no build asks for."""

# The best first; nobody can know how well the source was packed, but the result is to be as small.
_QUALITIES = (90, 80, 70)
_UNREADABLE = "this picture is damaged or cut off; save it anew, or send it again"
_TOO_LARGE = (
    f"this picture has more than {HIGHEST_PIXELS / 1e6:.0f} million pixels in all its frames, too many for a "
    "phone; make it smaller, about 1200 pixels wide"
)
_TOO_COLOURFUL = (
    "this animation shows more than 256 colours at once and cannot be written anew as GIF without loss; save "
    "it as .webp"
)
_SECONDS_OF_A_DAY = 86_400


class PictureError(ValueError):
    """A picture that cannot be published; the message says what its author is to do."""


def clean_pictures(site: Path, cache: Path) -> dict[str, str]:
    """Clean all pictures below `site`; returns a sentence for each, by its name there, that cannot be.

    What comes of a picture is kept in the folder `cache`, by its content.
    """
    refused: dict[str, str] = {}
    cache.mkdir(parents=True, exist_ok=True)
    _forget_old(cache)
    # What made it is a part of its name: another version may write better.
    made_by = sha256(Path(__file__).read_bytes() + version("pillow").encode()).digest()
    for path in sorted(site.rglob("*")):
        if path.suffix not in FORMATS or not path.is_file():
            continue
        data = path.read_bytes()
        kept = cache / f"{sha256(made_by + data).hexdigest()}{path.suffix}"
        if not kept.is_file():
            try:
                cleaned = clean_picture(data, path.suffix)
            except PictureError as error:
                refused[path.relative_to(site).as_posix()] = str(error)
                continue
            # Another build may write at the same time: the file is exchanged whole.
            unfinished = kept.with_name(f"{kept.name}.{os.getpid()}")
            unfinished.write_bytes(cleaned)
            unfinished.replace(kept)
        os.utime(kept)
        shutil.copyfile(kept, path)
    return refused


def clean_picture(data: bytes, ending: str) -> bytes:
    """Return the same picture without anything but its pixels.

    Raises PictureError for one that is not what its ending says, that is damaged, or too large.
    """
    # Imported here: most builds have no new picture.
    from PIL import Image

    try:
        with warnings.catch_warnings(), Image.open(BytesIO(data), formats=[FORMATS[ending]]) as picture:
            # The library warns of what is odd about data that is not kept.
            warnings.simplefilter("ignore")
            return _write_anew(picture, FORMATS[ending], data)
    except PictureError:
        raise
    except Image.DecompressionBombError:
        raise PictureError(_TOO_LARGE) from None
    # Whatever a hostile or damaged file makes the library stumble over, its author gets a sentence.
    except Exception as error:
        raise PictureError(_UNREADABLE) from error


def _write_anew(picture: "ImageFile", kind: str, data: bytes) -> bytes:
    # A second picture in a JPEG is another view of the first, which no browser shows.
    count = 1 if kind == "JPEG" else getattr(picture, "n_frames", 1)
    if picture.width * picture.height * count > HIGHEST_PIXELS:
        raise PictureError(_TOO_LARGE)
    frames: list[Image] = []
    durations: list[float] = []
    for number in range(count):
        picture.seek(number)
        frames.append(_read_frame(picture))
        durations.append(picture.info.get("duration", 0))
    options: dict[str, Any] = {}
    if count > 1:
        options = {"save_all": True, "append_images": frames[1:], "duration": durations}
        options |= {name: picture.info[name] for name in ("loop", "default_image") if name in picture.info}
    written = b""
    for own in _list_options(picture, kind, data):
        buffer = BytesIO()
        frames[0].save(buffer, kind, **options, **own)
        written = buffer.getvalue()
        if len(written) <= len(data):
            break
    if kind == "GIF" and not _shows(written, frames):
        raise PictureError(_TOO_COLOURFUL)
    return written


def _read_frame(picture: "ImageFile") -> "Image":
    from PIL import ImageOps

    picture.load()
    frame = _apply_profile(ImageOps.exif_transpose(picture))
    if frame.mode == "CMYK":
        frame = frame.convert("RGB")
    frame.info = {name: value for name, value in frame.info.items() if name == "transparency"}
    return frame


def _apply_profile(frame: "Image") -> "Image":
    from PIL import ImageCms

    profile = frame.info.get("icc_profile")
    if not profile:
        return frame
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        if "sRGB" in ImageCms.getProfileDescription(source):
            return frame
        mode = "RGBA" if frame.has_transparency_data else "RGB"
        plain = frame if frame.mode in ("CMYK", "L") and mode == "RGB" else frame.convert(mode)
        target = ImageCms.createProfile("sRGB")
        return ImageCms.profileToProfile(plain, source, target, outputMode=mode) or frame
    except (ImageCms.PyCMSError, OSError):
        # As browsers do with one that is broken or made for other pixels.
        return frame


def _list_options(picture: "ImageFile", kind: str, data: bytes) -> Iterator[dict[str, Any]]:
    """Yield how to write the picture, the best way first; others where that takes more bytes than before."""
    from PIL import ImageFile
    from PIL.JpegImagePlugin import JpegImageFile, get_sampling

    if isinstance(picture, JpegImageFile):
        # Its own guess at how much a JPEG may need is too low for the finest of them.
        ImageFile.MAXBLOCK = max(ImageFile.MAXBLOCK, 2 * len(data))
        yield {
            "qtables": picture.quantization,
            # Half the colours from left to right would be half from top to bottom in a turned picture.
            "subsampling": 2 if get_sampling(picture) == 2 else 0,
            "progressive": "progressive" in picture.info,
            "optimize": True,
        }
    elif kind == "GIF" or (kind == "WEBP" and b"VP8 " not in _list_chunks(data)):
        yield {"lossless": True, "exact": True}
    elif kind == "PNG":
        yield {"optimize": True}
    else:
        yield from ({"quality": quality} for quality in _QUALITIES)


def _list_chunks(data: bytes) -> Iterator[bytes]:
    """Yield the names of all parts of a WebP, those of its frames as well."""
    offset = 12
    while offset < len(data):
        name, size = data[offset : offset + 4], int.from_bytes(data[offset + 4 : offset + 8], "little")
        yield name
        offset += 8 + (16 if name == b"ANMF" else size + size % 2)


def _shows(written: bytes, frames: Sequence["Image"]) -> bool:
    """Whether a picture shows the very same frames."""
    from PIL import Image, ImageSequence

    with Image.open(BytesIO(written)) as picture:
        shown = (frame.convert("RGBA").tobytes() for frame in ImageSequence.Iterator(picture))
        return all(a == b.convert("RGBA").tobytes() for a, b in zip(shown, frames, strict=False))


def _forget_old(cache: Path) -> None:
    oldest = time.time() - KEPT_DAYS * _SECONDS_OF_A_DAY
    for path in cache.iterdir():
        if path.stat().st_mtime < oldest:
            path.unlink(missing_ok=True)
