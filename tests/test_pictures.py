"""Picture files of every kind are read as greys, and whatever is wrong with one is one sentence."""

from __future__ import annotations

import io
import os
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from billet.base.errors import InputError
from billet.base.pictures import read_picture

WIDE = np.uint8(np.linspace(0, 255, 40)[None].repeat(30, axis=0))  # dark left, bright right


def saved(folder: Path, image: Image.Image, name: str, **options: object) -> Path:
    """The picture saved under the name; its path."""
    image.save(folder / name, **options)
    return folder / name


@pytest.mark.parametrize("mode", ["L", "RGB", "RGBA", "LA", "P", "CMYK", "YCbCr", "1"])
def test_every_kind_of_picture_gives_brightness(tmp_path, mode):
    """Dark left and bright right whatever the file's colour model; TIFF holds all of them."""
    path = saved(tmp_path, Image.fromarray(WIDE).convert("RGB").convert(mode), "a.tif")
    grey = read_picture(path).grey
    assert grey.shape == (30, 40)
    assert grey[:, :8].mean() < 0.2
    assert grey[:, -8:].mean() > 0.8


def test_colours_weigh_as_the_eye_sees_them(tmp_path):
    """Luma of pure red, green and blue: 0.299, 0.587, 0.114 (ITU-R BT.601)."""
    rgb = np.uint8([[[255, 0, 0], [0, 255, 0], [0, 0, 255]]])
    grey = read_picture(saved(tmp_path, Image.fromarray(rgb), "c.png")).grey
    np.testing.assert_allclose(grey[0], [0.299, 0.587, 0.114], atol=0.003)  # 8-bit steps


def test_sixteen_bits_keep_their_steps(tmp_path):
    values = np.arange(30 * 40, dtype=np.uint16).reshape(30, 40) * 50
    grey = read_picture(saved(tmp_path, Image.fromarray(values), "deep.png")).grey
    np.testing.assert_allclose(grey, values / 65535)


@pytest.mark.parametrize("byte_order", ["<u2", ">u2"])
def test_sixteen_bits_of_either_byte_order(tmp_path, byte_order):
    """TIFF 6.0, section 2: II is little-endian, MM big-endian."""
    values = (np.arange(30 * 40).reshape(30, 40) * 50).astype(byte_order)
    path = saved(tmp_path, Image.fromarray(values), "deep.tif")
    np.testing.assert_allclose(read_picture(path).grey, values / 65535, rtol=1e-6)


def test_what_is_transparent_is_white(tmp_path):
    """A black picture whose left half is clear; the PNG specification's alpha of 0 is fully transparent."""
    pixels = np.zeros((30, 40, 2), np.uint8)
    pixels[:, 20:, 1] = 255
    grey = read_picture(saved(tmp_path, Image.fromarray(pixels, "LA"), "clear.png")).grey
    assert (grey[:, :20] == 1).all() and (grey[:, 20:] == 0).all()


@pytest.mark.parametrize("bits", [8, 16])
def test_a_longest_side_makes_large_pictures_smaller(tmp_path, bits):
    values = np.uint16(np.linspace(0, 2**bits - 1, 400)[None].repeat(100, axis=0))
    path = saved(tmp_path, Image.fromarray(values if bits == 16 else np.uint8(values)), "large.png", dpi=(600, 600))
    small = read_picture(path, longest=40)
    assert small.grey.shape == (10, 40) and small.pixel_m is None
    np.testing.assert_allclose(small.grey[5], (np.arange(40) + 0.5) / 40, atol=0.02)  # a ramp stays a ramp


def test_floating_point_tiff_is_read_and_not_a_number_refused(tmp_path):
    values = np.linspace(0, 1, 1200, dtype=np.float32).reshape(30, 40)
    np.testing.assert_allclose(read_picture(saved(tmp_path, Image.fromarray(values), "f.tif")).grey, values)
    values[3, 3] = np.nan
    with pytest.raises(InputError, match="not numbers"):
        read_picture(saved(tmp_path, Image.fromarray(values), "g.tif"))


@pytest.mark.parametrize("orientation, turned", [(1, 0), (3, 2), (6, 3), (8, 1)])
def test_a_photograph_is_read_as_the_camera_was_held(tmp_path, orientation, turned):
    """Exif 2.3, tag 0x0112: 1 upright, 3 half turn, 6 to be turned a quarter clockwise, 8 a quarter the other way."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = saved(tmp_path, Image.fromarray(WIDE), "held.png", exif=exif)
    np.testing.assert_allclose(read_picture(path).grey, np.rot90(WIDE / 255, turned))


def test_a_moving_picture_gives_its_first_frame(tmp_path):
    frames = [Image.fromarray(WIDE), Image.fromarray(255 - WIDE)]
    path = saved(tmp_path, frames[0], "moving.gif", save_all=True, append_images=frames[1:])
    assert read_picture(path).grey[:, -5:].mean() > 0.8


def test_the_scale_of_a_scan_is_read_and_a_placeholder_is_not(tmp_path):
    image = Image.fromarray(WIDE)
    assert read_picture(saved(tmp_path, image, "scan.png", dpi=(1200, 1200))).pixel_m == pytest.approx(
        0.0254 / 1200, rel=1e-3
    )
    assert read_picture(saved(tmp_path, image, "scan.jpg", dpi=(600, 600))).pixel_m == pytest.approx(0.0254 / 600)
    assert read_picture(saved(tmp_path, image, "screen.jpg", dpi=(72, 72))).pixel_m is None
    assert read_picture(saved(tmp_path, image, "oblong.png", dpi=(300, 600))).pixel_m is None
    assert read_picture(saved(tmp_path, image, "none.png")).pixel_m is None


def test_a_camera_does_not_know_the_scale(tmp_path):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x829A] = 0.01  # exposure time, Exif 2.3
    path = saved(tmp_path, Image.fromarray(WIDE), "camera.jpg", dpi=(300, 300), exif=exif)
    assert read_picture(path).pixel_m is None


def png_header(width: int, height: int) -> bytes:
    """A PNG of the given size with hardly any data behind it (PNG specification, sections 5.2 and 11.2.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("size", [(10_001, 10_000), (50_000, 40_000), (2_000_000, 1_000)])
def test_a_picture_too_large_is_refused_by_its_header(tmp_path, size):
    (tmp_path / "bomb.png").write_bytes(png_header(*size))
    with pytest.raises(InputError, match="100 million pixels") as refused:
        read_picture(tmp_path / "bomb.png")
    assert str(refused.value).count("\n") == 0


def jpeg_cut_short() -> bytes:
    """The first half of a JPEG."""
    buffer = io.BytesIO()
    Image.fromarray(np.uint8(np.random.default_rng(1).integers(0, 255, (200, 200)))).save(buffer, "JPEG")
    return buffer.getvalue()[: len(buffer.getvalue()) // 2]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a picture",
        b"\x89PNG\r\n\x1a\n",
        png_header(400, 300),
        jpeg_cut_short(),
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
        b"<svg/>",
        b"GIF89a",
    ],
    ids=["empty", "text", "bare", "no-data", "half", "postscript", "svg", "gif"],
)
def test_what_is_no_picture_is_one_sentence(tmp_path, data):
    (tmp_path / "x.png").write_bytes(data)
    with pytest.raises(InputError, match=r"x\.png: .*save it"):
        read_picture(tmp_path / "x.png")


def test_a_missing_file_and_a_folder_are_said_so(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_picture(tmp_path / "nowhere.png")
    with pytest.raises(InputError, match="folder"):
        read_picture(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_without_waiting_for_a_writer(tmp_path):
    os.mkfifo(tmp_path / "pipe.png")
    with pytest.raises(InputError, match="pipe or a device"):
        read_picture(tmp_path / "pipe.png")
    with pytest.raises(InputError, match="pipe or a device"):
        read_picture("/dev/zero")


@pytest.mark.parametrize("kind", [b"IHDR", b"IDAT", b"IEND"])
def test_a_broken_chunk_is_one_sentence_or_harmless(tmp_path, kind):
    """One byte of the chunk's check sum is wrong (PNG specification, section 5.3)."""
    path = saved(tmp_path, Image.fromarray(WIDE), "x.png")
    data = bytearray(path.read_bytes())
    start = data.index(kind)
    data[start + 4 + int.from_bytes(data[start - 4 : start], "big")] ^= 0xFF
    path.write_bytes(data)
    try:
        np.testing.assert_allclose(read_picture(path).grey, WIDE / 255)
    except InputError as refused:
        assert "save it" in str(refused)


@pytest.mark.parametrize("seed", range(25))
def test_damaged_bytes_give_a_picture_or_the_one_error(tmp_path, seed):
    rng = np.random.default_rng(seed)
    buffer = io.BytesIO()
    kind = ["PNG", "JPEG", "TIFF", "GIF", "WEBP"][seed % 5]
    Image.fromarray(WIDE).convert("RGB").save(buffer, kind)
    data = bytearray(buffer.getvalue())
    for at in rng.integers(0, len(data), 12):
        data[at] = rng.integers(0, 256)
    (tmp_path / "y").write_bytes(data)
    try:
        assert read_picture(tmp_path / "y").grey.ndim == 2
    except InputError as refused:
        assert "wanted" in str(refused) or "save it" in str(refused)
