"""What may be kept of a picture: upright, within bounds, without place and camera.  Pure."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

from ..wire.problems import NotAPicture, TooLarge

#: Long side of what is kept, in pixels, and of the smaller versions made of it.
KEPT_MAX_PX = 2560
SIZES = {"thumb": 320, "preview": 1280}

_FORMATS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
#: JPEG segments that say nothing of place or camera: JFIF, colour profile, colour transform.
_HARMLESS = {"APP0", "APP2", "APP14"}
#: PNG chunks that say nothing but how to show it.
_HARMLESS_CHUNKS = set(b"IHDR PLTE IDAT IEND tRNS gAMA sRGB cHRM sBIT bKGD pHYs".split())
#: WebP chunks that hold the picture, its transparency and its colour profile.
_HARMLESS_WEBP = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"}
_END_OF_JPEG = b"\xff\xd9"


@dataclass(frozen=True, slots=True)
class Picture:
    """Bytes that may be kept.  ``smaller``: the same picture at each size of SIZES, by its name."""

    content: bytes
    media_type: str
    width_px: int
    height_px: int
    smaller: dict[str, bytes]


def clean(content: bytes, pixels_max: int) -> Picture:
    """The picture in ``content``, upright and without anything that tells place or camera.

    Bytes that are clean already are kept as they are.  Raises NotAPicture if they cannot be
    decoded as JPEG, PNG or WebP; TooLarge if they unpack to more than ``pixels_max`` pixels.
    """
    with _opened(content, pixels_max) as image:
        format_ = image.format or ""
        tidy = _is_clean(image, content) and max(image.size) <= KEPT_MAX_PX
        if not tidy and format_ == "JPEG":
            image.draft("RGB", (KEPT_MAX_PX, KEPT_MAX_PX))
        kept = _upright(image)
    if not tidy:
        if max(kept.size) > KEPT_MAX_PX:
            kept = _smooth(kept)
            kept.thumbnail((KEPT_MAX_PX, KEPT_MAX_PX), reducing_gap=2.0)
        content = _encode(kept, format_)
    smaller = {}
    shrunk = _smooth(kept)
    for name, side in sorted(SIZES.items(), key=lambda item: -item[1]):
        shrunk.thumbnail((side, side), reducing_gap=2.0)
        # A drawing has few colours: its smaller versions keep to a palette too.
        flat = shrunk.quantize(64, Image.Quantize.FASTOCTREE) if kept.mode == "P" else shrunk
        smaller[name] = min(_encode(flat, format_), content, key=len)
    return Picture(content, _FORMATS[format_], *kept.size, smaller)


def check(content: bytes, pixels_max: int) -> None:
    """Raises NotAPicture or TooLarge where :func:`clean` would."""
    with _opened(content, pixels_max) as image:
        image.load()


@contextmanager
def _opened(content: bytes, pixels_max: int) -> Iterator[Image.Image]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(BytesIO(content), formats=list(_FORMATS)) as image:
                # The header says the size; nothing has been unpacked yet.
                if image.width * image.height > pixels_max:
                    raise TooLarge(
                        f"The picture has {image.width} x {image.height} pixels;"
                        f" {pixels_max // 1_000_000} megapixels are the most that can be kept."
                    )
                yield image
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise TooLarge("The picture unpacks to more pixels than can be kept.") from None
    except UnidentifiedImageError:
        raise NotAPicture("It is no JPEG, PNG or WebP picture. Save it as JPEG first.") from None
    except (OSError, SyntaxError, ValueError, EOFError, IndexError, MemoryError) as error:
        raise NotAPicture("The picture is damaged or cut off. Take or save it again.") from error


def _is_clean(image: Image.Image, content: bytes) -> bool:
    if image.format == "PNG":
        return _png_chunks(content) <= _HARMLESS_CHUNKS
    if image.format == "WEBP":
        return _webp_chunks(content) <= _HARMLESS_WEBP
    if image.format != "JPEG":
        return False
    segments = {name for name, _ in getattr(image, "applist", [])}
    # Cameras also hang things behind the picture's end: a second picture, a film, their notes.
    return (
        segments <= _HARMLESS
        and "comment" not in image.info
        and content.find(_END_OF_JPEG) == len(content) - len(_END_OF_JPEG)
    )


def _png_chunks(content: bytes) -> set[bytes]:
    """Types of the chunks of a PNG (W3C PNG, section 5.3); b"?" if something hangs behind it."""
    at, kinds = 8, set()
    while at + 8 <= len(content):
        kind = content[at + 4 : at + 8]
        kinds.add(kind)
        at += 12 + int.from_bytes(content[at : at + 4], "big")
        if kind == b"IEND":
            break
    return kinds if at == len(content) else {b"?"}


def _webp_chunks(content: bytes) -> set[bytes]:
    """Types of the chunks of a WebP (RFC 9649, section 2); b"?" if something hangs behind it."""
    at, kinds = 12, set()
    while at + 8 <= len(content):
        kinds.add(content[at : at + 4])
        size = int.from_bytes(content[at + 4 : at + 8], "little")
        at += 8 + size + size % 2
    whole = 8 + int.from_bytes(content[4:8], "little") == len(content) == at
    return kinds if whole else {b"?"}


def _smooth(image: Image.Image) -> Image.Image:
    """A copy that can be resized smoothly: colours of a palette cannot be mixed."""
    if image.mode == "P":
        return image.convert("RGBA" if "transparency" in image.info else "RGB")
    return image.convert("L") if image.mode == "1" else image.copy()


def _upright(image: Image.Image) -> Image.Image:
    turned = ImageOps.exif_transpose(image)
    return turned if turned is not image else image.copy()


def _encode(image: Image.Image, format_: str) -> bytes:
    plain = Image.new(image.mode, image.size)
    if image.mode == "P":
        palette = image.getpalette()
        if palette:
            plain.putpalette(palette)
    plain.paste(image)
    target = BytesIO()
    if format_ == "JPEG":
        if plain.mode not in ("RGB", "L"):
            plain = plain.convert("RGB")
        plain.save(target, "JPEG", quality=88, optimize=True)
    elif format_ == "PNG":
        plain.save(target, "PNG")
    else:
        plain.save(target, "WEBP", quality=85)
    return target.getvalue()
