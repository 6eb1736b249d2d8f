"""Photos that people send: decoded, made small and written anew, so that nothing of the file but its picture stays."""

import io
from dataclasses import dataclass

from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

KINDS = ("JPEG", "PNG", "WEBP")
LARGEST_BYTES = 15_000_000
LARGEST_PIXELS = 25_000_000
LONGEST_SIDE_PX = 1600
QUALITY = 80
TOO_MANY_POINTS = f"The photo has more than {LARGEST_PIXELS // 1_000_000} million points. Send a smaller one."


class NotAPhoto(ValueError):
    """A file that is not kept, with the sentence that says why."""


@dataclass(frozen=True)
class KeptPhoto:
    """A JPEG without place, time or camera, its longest side at most `LONGEST_SIDE_PX`."""

    jpeg: bytes
    width_px: int
    height_px: int


def kept_photo(file) -> KeptPhoto:
    """Return the photo in an uploaded file as it is kept. Raises NotAPhoto.

    The size is read before a pixel is: a small file can unfold to gigabytes.
    """
    # WeasyPrint lets half a picture pass for the whole process that loads it.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    if file.size > LARGEST_BYTES:
        raise NotAPhoto(f"The photo is larger than {LARGEST_BYTES // 1_000_000}\u202fMB. Send a smaller one.")
    try:
        with Image.open(file, formats=KINDS) as image:
            refuse_large(image)
            image.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            upright = ImageOps.exif_transpose(image)
            upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            return written_anew(on_white(upright))
    except UnidentifiedImageError:
        raise NotAPhoto("The file is no photo; accepted: JPEG, PNG or WebP.") from None
    except Image.DecompressionBombError:
        raise NotAPhoto(TOO_MANY_POINTS) from None
    except NotAPhoto:
        raise
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError):
        raise NotAPhoto("The photo is damaged and cannot be read. Take it again.") from None


def refuse_large(image: Image.Image) -> None:
    width_px, height_px = image.size
    if width_px * height_px > LARGEST_PIXELS:
        raise NotAPhoto(TOO_MANY_POINTS)


def on_white(image: Image.Image) -> Image.Image:
    """Return the picture without transparency or palette."""
    if image.mode in ("RGB", "L"):
        return image.convert("RGB")
    clear = image.convert("RGBA")
    ground = Image.new("RGB", clear.size, "white")
    ground.paste(clear, mask=clear.getchannel("A"))
    return ground


def written_anew(image: Image.Image) -> KeptPhoto:
    """Return the picture as a new JPEG; a copy of the pixels carries none of what stood beside them."""
    bare = Image.frombytes("RGB", image.size, image.tobytes())
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    return KeptPhoto(out.getvalue(), *bare.size)
