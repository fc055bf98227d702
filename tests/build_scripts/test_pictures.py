"""Pictures: what is published shows the same, upright, and says nothing of place, time and device."""

from __future__ import annotations

import os
import struct
import time
import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import ExifTags, Image, ImageChops, ImageCms, ImageFilter, ImageSequence, ImageStat, PngImagePlugin

from build_scripts.release.pictures import (
    FORMATS,
    HIGHEST_PIXELS,
    KEPT_DAYS,
    PictureError,
    clean_picture,
    clean_pictures,
)

SECRET = b"SECRET-BENCH-7"
SIZE = (300, 200)
LEFT, RIGHT = (220, 30, 30), (30, 30, 220)
DAY = 86_400


def make_picture(size: tuple[int, int] = SIZE) -> Image.Image:
    picture = Image.new("RGB", size, RIGHT)
    picture.paste(LEFT, (0, 0, size[0] // 2, size[1]))
    return picture


def make_exif(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Make] = SECRET.decode()
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.MakerNote] = SECRET
    exif.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (51.0, 30.0, 12.5), 3: "E", 4: (7.0, 1.0, 2.0)})
    return exif


def save(picture: Image.Image, ending: str, **options: Any) -> bytes:
    buffer = BytesIO()
    picture.save(buffer, FORMATS[ending], **options)
    return buffer.getvalue()


def save_telling(ending: str, orientation: int) -> bytes:
    """A picture with everything that a phone writes into this format."""
    picture, options = make_picture(), {"exif": make_exif(orientation)}
    if ending == ".png":
        text = PngImagePlugin.PngInfo()
        text.add_text("Comment", SECRET.decode())
        text.add_itxt("XML:com.adobe.xmp", SECRET.decode(), zip=False)
        return save(picture, ending, pnginfo=text, **options)
    if ending == ".gif":
        return save(picture, ending, comment=SECRET)
    if ending == ".jpg":
        return save(picture, ending, comment=SECRET, xmp=SECRET, **options) + SECRET
    return save(picture, ending, xmp=SECRET, **options)


def read(data: bytes) -> Image.Image:
    picture = Image.open(BytesIO(data))
    picture.load()
    return picture


def read_frames(data: bytes) -> list[tuple[bytes, float]]:
    return [
        (frame.convert("RGBA").tobytes(), frame.info.get("duration", 0))
        for frame in ImageSequence.Iterator(Image.open(BytesIO(data)))
    ]


def measure_difference(one: Image.Image, other: Image.Image) -> float:
    return max(ImageStat.Stat(ImageChops.difference(one.convert("RGB"), other.convert("RGB"))).mean)


def is_like(found: tuple[int, ...], wanted: tuple[int, int, int]) -> bool:
    return all(abs(a - b) < 12 for a, b in zip(found, wanted, strict=False))


@pytest.mark.parametrize("ending", [".jpg", ".png", ".webp", ".avif", ".gif"])
def test_nothing_but_pixels_is_published(ending: str) -> None:
    data = save_telling(ending, 1)
    assert SECRET in data
    cleaned = clean_picture(data, ending)
    assert SECRET not in cleaned
    for mark in (b"Exif", b"eXIf", b"http://", b"GPS", b"XMP", b"tEXt", b"iTXt", b"ICC"):
        assert mark not in cleaned
    picture = read(cleaned)
    assert picture.format == FORMATS[ending]
    assert dict(picture.getexif()) == {}
    assert picture.getexif().get_ifd(ExifTags.IFD.GPSInfo) == {}
    assert {"comment", "exif", "xmp", "icc_profile", "dpi"}.isdisjoint(picture.info)
    assert measure_difference(picture, read(data)) < 2


@pytest.mark.parametrize("ending", [".jpg", ".png", ".webp", ".avif"])
@pytest.mark.parametrize(("orientation", "corner"), [(1, LEFT), (3, RIGHT), (6, LEFT), (8, RIGHT)])
def test_it_stands_upright(ending: str, orientation: int, corner: tuple[int, int, int]) -> None:
    picture = read(clean_picture(save_telling(ending, orientation), ending))
    assert picture.size == (SIZE if orientation in (1, 3) else SIZE[::-1])
    # The left half is at the top where a picture is turned to the right, at the bottom where to the left.
    found = picture.convert("RGB").getpixel((5, 5))
    assert isinstance(found, tuple)
    assert is_like(found, corner)


def test_a_second_picture_in_a_jpeg_is_left_out() -> None:
    buffer = BytesIO()
    other = make_picture().rotate(180)
    make_picture().save(buffer, "MPO", save_all=True, append_images=[other], exif=make_exif())
    assert read(buffer.getvalue()).format == "MPO"
    cleaned = clean_picture(buffer.getvalue(), ".jpg")
    assert read(cleaned).format == "JPEG"
    assert SECRET not in cleaned


@pytest.mark.parametrize(("quality", "sampling"), [(60, "4:2:0"), (92, "4:4:4"), (100, "4:4:4")])
def test_a_jpeg_loses_next_to_nothing_and_grows_by_nothing(quality: int, sampling: str) -> None:
    noise = Image.merge("RGB", [Image.effect_noise((400, 300), sigma) for sigma in (20, 60, 120)])
    photograph = noise.filter(ImageFilter.GaussianBlur(2))
    data = save(photograph, ".jpg", quality=quality, subsampling=sampling)
    cleaned = clean_picture(data, ".jpg")
    assert measure_difference(read(data), read(cleaned)) < 1
    assert len(cleaned) <= len(data)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_a_png_stays_the_same_to_the_pixel(mode: str) -> None:
    picture = Image.new(mode, (30, 20), 40_000) if mode == "I;16" else make_picture().convert(mode)
    unseen = {"P": 3, "L": 7, "RGB": LEFT}
    data = save(picture, ".png", **({"transparency": unseen[mode]} if mode in unseen else {}))
    cleaned = clean_picture(data, ".png")
    assert read(cleaned).mode == read(data).mode
    assert read(cleaned).tobytes() == read(data).tobytes()
    assert read_frames(cleaned) == read_frames(data)


def make_frames() -> list[Image.Image]:
    frames = [Image.effect_mandelbrot((60, 40), (-2, -1, 1, 1), n).convert("RGB") for n in (3, 9, 27)]
    return [Image.blend(frame, make_picture((60, 40)), 0.3).quantize(60).convert("RGB") for frame in frames]


@pytest.mark.parametrize(
    ("ending", "options"), [(".gif", {}), (".png", {}), (".webp", {"lossless": True, "exact": True})]
)
def test_frames_stay_as_they_were(ending: str, options: dict[str, Any]) -> None:
    first, *others = make_frames()
    data = save(first, ending, save_all=True, append_images=others, duration=[50, 60, 70], loop=3, **options)
    cleaned = clean_picture(data, ending)
    assert [duration for _, duration in read_frames(data)] == [50, 60, 70]
    assert read_frames(cleaned) == read_frames(data)
    assert read(cleaned).info["loop"] == 3


def test_webp_is_as_lossless_as_it_was() -> None:
    noise = Image.merge("RGB", [Image.effect_noise(SIZE, 40)] * 3)
    exact = save(noise, ".webp", lossless=True)
    assert read(clean_picture(exact, ".webp")).tobytes() == read(exact).tobytes()
    lossy = save(noise, ".webp", quality=80)
    assert len(clean_picture(lossy, ".webp")) <= len(lossy) * 1.1


def test_an_animation_that_gif_cannot_repeat_is_refused() -> None:
    # Two frames with 256 colours each, the second on the lower half of the first: 512 at once.
    halves = [Image.new("P", (16, 16)), Image.new("P", (16, 16))]
    for half, shade in zip(halves, (0, 128), strict=True):
        half.putdata(range(256))
        half.putpalette([value for n in range(256) for value in (n, shade, 255 - n)])
    one, other = (save(half, ".gif", optimize=False) for half in halves)
    table = 13 + 256 * 3
    own_table = other[13:table]
    image = other.index(b",", table)
    # As large as both, and the second with a colour table of its own.
    data = (
        one[:8] + b"\x20\x00" + one[10:-1] + b",\x00\x00\x08\x00\x10\x00\x10\x00\x87"
        + own_table + other[image + 10 :]
    )  # fmt: skip
    assert len(read_frames(data)) == 2
    with pytest.raises(PictureError, match=r"more than 256 colours at once .* save it as \.webp"):
        clean_picture(data, ".gif")


def test_a_colour_profile_is_applied_and_dropped() -> None:
    plain = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    data = save(make_picture(), ".png", icc_profile=plain)
    assert read(clean_picture(data, ".png")).tobytes() == make_picture().tobytes()
    # Red and blue change places, and the name goes.
    swapped = plain.replace(b"rXYZ", b"----").replace(b"bXYZ", b"rXYZ").replace(b"----", b"bXYZ")
    swapped = swapped.replace("sRGB".encode("utf-16-be"), "mine".encode("utf-16-be"))
    for ending in (".png", ".webp"):
        data = save(make_picture(), ending, icc_profile=swapped)
        picture = read(clean_picture(data, ending))
        left = picture.convert("RGB").getpixel((5, 5))
        assert isinstance(left, tuple)
        assert left[2] > left[0] + 100
        assert "icc_profile" not in picture.info
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    for profile in (lab, b"no profile at all"):
        cleaned = clean_picture(save(make_picture(), ".png", icc_profile=profile), ".png")
        assert read(cleaned).tobytes() == make_picture().tobytes()
        assert "icc_profile" not in read(cleaned).info


@pytest.mark.parametrize("ending", [".jpg", ".png", ".webp", ".avif", ".gif"])
@pytest.mark.parametrize("part", [0.0, 0.02, 0.5])
def test_a_damaged_picture_is_refused(ending: str, part: float) -> None:
    noise = Image.merge("RGB", [Image.effect_noise(SIZE, 80)] * 3)
    data = save(noise, ending)
    with pytest.raises(PictureError, match=r"^this picture is damaged or cut off; save it anew"):
        clean_picture(data[: int(len(data) * part)], ending)


def test_what_is_something_else_than_it_says_is_refused() -> None:
    with pytest.raises(PictureError, match="damaged"):
        clean_picture(save(make_picture(), ".png"), ".jpg")


def test_a_picture_may_have_so_many_pixels_and_no_more() -> None:
    side = int(HIGHEST_PIXELS**0.5)
    assert side * side == HIGHEST_PIXELS
    clean_picture(save(Image.new("1", (side, side)), ".png"), ".png")
    small = save(Image.new("1", (8, 8)), ".png")
    for size in ((side + 1, side), (40_000, 40_000)):
        # The size that it says it has, and the checksum behind it.
        header = b"IHDR" + struct.pack(">II", *size) + small[24:29]
        bomb = small[:12] + header + struct.pack(">I", zlib.crc32(header)) + small[33:]
        with pytest.raises(PictureError, match="more than 25 million pixels"):
            clean_picture(bomb, ".png")
    frames = [Image.new("1", (side // 2, side // 2), n % 2) for n in range(5)]
    with pytest.raises(PictureError, match="in all its frames"):
        clean_picture(save(frames[0], ".png", save_all=True, append_images=frames[1:]), ".png")


def test_a_picture_is_cleaned_once(tmp_path: Path) -> None:
    site, cache = tmp_path / "site", tmp_path / "cache"
    (site / "deep").mkdir(parents=True)
    data = save_telling(".jpg", 6)

    def publish() -> bytes:
        (site / "deep" / "a.jpg").write_bytes(data)
        assert clean_pictures(site, cache) == {}
        return (site / "deep" / "a.jpg").read_bytes()

    first = publish()
    assert SECRET not in first
    (kept,) = cache.iterdir()
    kept.write_bytes(b"taken from here")
    assert publish() == b"taken from here"
    # What is published is no second name of what is kept.
    assert kept.stat().st_nlink == 1
    for days, there in ((KEPT_DAYS - 1, True), (KEPT_DAYS + 1, False)):
        os.utime(kept, (time.time() - days * DAY,) * 2)
        (site / "deep" / "a.jpg").unlink(missing_ok=True)
        clean_pictures(site, cache)
        assert kept.exists() == there


def test_every_picture_that_cannot_be_cleaned_is_named(tmp_path: Path) -> None:
    for name, data in (("a.png", b"x"), ("b.jpg", save_telling(".jpg", 1)), ("c.gif", b""), ("d.csv", b"x")):
        (tmp_path / name).write_bytes(data)
    assert list(clean_pictures(tmp_path, tmp_path.parent / "kept")) == ["a.png", "c.gif"]
    assert (tmp_path / "d.csv").read_bytes() == b"x"
