"""Photos from a phone: hostile files are refused with a reason, and what is kept tells no place."""

import io
import pickle
import struct
import subprocess
import sys
import zlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from shop.photos import LONGEST_SIDE_PX, NotAPhoto, kept_photo


def a_file(data: bytes, name="photo.jpg"):
    return SimpleUploadedFile(name, data)


def picture(kind="JPEG", size=(1200, 800), mode="RGB", **more):
    out = io.BytesIO()
    Image.new(mode, size, "teal" if mode != "RGBA" else (0, 90, 90, 40)).save(out, kind, **more)
    return out.getvalue()


def png_of(width, height, rows=b""):
    """A PNG that says how large it is and holds next to nothing."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(rows)), chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def riff(width, height):
    body = b"WEBPVP8X" + struct.pack("<I", 10) + bytes(4)
    body += (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return b"RIFF" + struct.pack("<I", len(body)) + body


HOSTILE = {
    "nothing": (b"", "no photo"),
    "words": (b"Here is the boat", "no photo"),
    "a page": (b"<!doctype html><script>alert(1)</script>", "no photo"),
    "a drawing with a script": (b'<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>', "no photo"),
    "a PDF": (b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n", "no photo"),
    "a zip": (b"PK\x03\x04" + bytes(60), "no photo"),
    "a program": (b"\x7fELF" + bytes(60), "no photo"),
    "PostScript, which runs": (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n", "no photo"),
    "a GIF": (picture("GIF"), "no photo"),
    "a TIFF": (picture("TIFF"), "no photo"),
    "a bitmap": (picture("BMP"), "no photo"),
    "a JPEG cut in half": (picture()[: len(picture()) // 2], "damaged|no photo"),
    "a JPEG's first bytes only": (b"\xff\xd8\xff\xe0" + bytes(40), "damaged|no photo"),
    "a PNG of 65,000 by 65,000": (png_of(65_000, 65_000), "million"),
    "a PNG of 2 billion wide": (png_of(2_000_000_000, 1), "million|damaged"),
    "a PNG whose rows unfold without end": (png_of(20_000, 20_000, bytes(30_000_000)), "million"),
    "a PNG without rows": (png_of(500, 500), "damaged"),
    "a PNG of no width": (png_of(0, 10), "damaged|no photo"),
    "a WebP of 16,000 by 16,000": (riff(16_000, 16_000), "million|damaged|no photo"),
    "a file of 16 MB": (b"\xff\xd8\xff" + bytes(16_000_000), "larger than"),
    "a JPEG of 30 million points": (picture(size=(6000, 5001)), "million"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_with_a_reason(name):
    data, words = HOSTILE[name]
    with pytest.raises(NotAPhoto, match=words):
        kept_photo(a_file(data))


CHILD = """
import io, pickle, re, sys
from pathlib import Path
from shop.photos import NotAPhoto, kept_photo

class Sent(io.BytesIO):
    size = property(lambda self: len(self.getbuffer()))

def most_kb():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])

files = [Sent(data) for data in pickle.load(sys.stdin.buffer)]
before = most_kb()
for file in files:
    try:
        kept_photo(file)
    except NotAPhoto:
        pass
print(most_kb() - before)
"""


def grown_mb(*sent: bytes) -> float:
    """Return by how much a process of its own grows at most while it looks at files."""
    done = subprocess.run([sys.executable, "-c", CHILD], input=pickle.dumps(sent), stdout=subprocess.PIPE, check=True)
    return int(done.stdout) / 1024


def test_memory_stays_flat_under_hostile_files_and_the_measure_sees_a_large_photo():
    assert grown_mb(*(data for data, _ in HOSTILE.values())) < 40
    assert grown_mb(picture("PNG", (4900, 5000))) > 40


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_as_a_small_jpeg(kind):
    kept = kept_photo(a_file(picture(kind, (3200, 2400)), "../../etc/photo.png"))
    with Image.open(io.BytesIO(kept.jpeg)) as image:
        assert (image.format, image.size) == ("JPEG", (LONGEST_SIDE_PX, 1200))
    assert (kept.width_px, kept.height_px) == (LONGEST_SIDE_PX, 1200)


def test_what_is_kept_tells_no_place_no_time_and_no_camera():
    exif = Image.Exif()
    exif[0x0110] = "Camera"
    exif[0x0132] = "2026:11:25 10:00:00"
    exif.get_ifd(0x8825).update({1: "N", 2: (59.0, 20.0, 0.0), 3: "E", 4: (18.0, 4.0, 0.0)})
    sent = picture(exif=exif, comment=b"at home")
    assert b"Camera" in sent and b"at home" in sent
    kept = kept_photo(a_file(sent)).jpeg
    with Image.open(io.BytesIO(kept)) as image:
        assert not image.getexif() and "comment" not in image.info and "exif" not in image.info
    assert b"Camera" not in kept and b"at home" not in kept


def test_a_photo_stands_as_the_phone_was_held():
    exif = Image.Exif()
    exif[0x0112] = 6
    kept = kept_photo(a_file(picture(size=(400, 300), exif=exif)))
    assert (kept.width_px, kept.height_px) == (300, 400)


def test_a_clear_ground_becomes_white():
    kept = kept_photo(a_file(picture("PNG", (40, 40), "RGBA")))
    with Image.open(io.BytesIO(kept.jpeg)) as image:
        red, green, blue = image.getpixel((20, 20))
    assert red > 180 and green > 180 and blue > 180
