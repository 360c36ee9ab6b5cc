"""Pictures on papers: upright, stripped, and never larger than said."""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from tests.trips import paper_values as values
from tests.trips.paper_reading import dots, reader
from trips.documents.scripts import PaperFailed
from trips.documents.wording.papers import paper_fault
from trips.services import print_jobs
from trips.services.pdf import job_pdf
from trips.services.print_jobs import picture_prepare

ORIENTATION, GPS, MAKER = 0x0112, 0x8825, 0x010F


def turned_picture(orientation: int = 6) -> bytes:
    """400 x 200, left half red and right half blue; with orientation 6 a viewer shows 200 x 400, red on top."""
    picture = Image.new("RGB", (400, 200), "blue")
    picture.paste("red", (0, 0, 200, 200))
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = orientation, "Secret maker"
    exif.get_ifd(GPS).update({1: "N", 2: (39.0, 30.0, 0.0), 3: "W", 4: (6.0, 12.0, 0.0)})
    written = io.BytesIO()
    picture.save(written, "JPEG", exif=exif, quality=95, comment=b"a comment")
    return written.getvalue()


def empty_png(width: int, height: int) -> bytes:
    """A valid PNG of any size with hardly any bytes: rows of nothing, compressed."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    squeezed = zlib.compressobj(9)
    row = b"\x00" * (1 + (width + 7) // 8)
    body = b"".join(squeezed.compress(row) for _ in range(height)) + squeezed.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def test_a_turned_picture_stands_upright_on_paper():
    asset = picture_prepare(turned_picture())
    assert Image.open(io.BytesIO(asset.body)).size == (200, 400)
    pdf = job_pdf(print_jobs.briefing_job(values.briefing(sessions=()), meeting_picture=asset))
    printed = [dots(pdf, number, 72).astype(int) for number in range(1, len(reader(pdf).pages) + 1)]
    (printed,) = [page for page in printed if np.ptp(page, axis=2).max() > 100]
    red = np.argwhere((printed[:, :, 0] > 180) & (printed[:, :, 2] < 90))
    blue = np.argwhere((printed[:, :, 2] > 180) & (printed[:, :, 0] < 90))
    assert red[:, 0].max() <= blue[:, 0].min()
    assert (np.ptp(red[:, 1]) + 1) / (np.ptp(red[:, 0]) + 1) == pytest.approx(1.0, abs=0.05)


def test_nothing_but_the_picture_is_left():
    data = turned_picture()
    assert b"Secret maker" in data
    assert b"a comment" in data
    body = picture_prepare(data).body
    assert b"Secret" not in body
    assert b"comment" not in body
    assert b"Exif" not in body
    assert not Image.open(io.BytesIO(body)).getexif()


@pytest.mark.parametrize("size", [(20_000, 20_000), (8_000, 8_000)])
def test_a_small_file_with_a_giant_picture_is_refused_before_it_is_opened(size):
    data = empty_png(*size)
    assert len(data) < 60_000
    with pytest.raises(PaperFailed) as refused:
        picture_prepare(data)
    assert paper_fault(refused.value).startswith("The picture is too large")


def test_a_picture_of_many_dots_is_made_smaller():
    written = io.BytesIO()
    Image.new("RGB", (6000, 4000), "grey").save(written, "JPEG")
    assert Image.open(io.BytesIO(picture_prepare(written.getvalue()).body)).size == (2000, 1333)


@pytest.mark.parametrize(
    "data", [b"", b"no picture", turned_picture()[:300], b"<svg xmlns='http://www.w3.org/2000/svg'/>"]
)
def test_what_is_no_picture_is_refused_in_a_sentence(data):
    with pytest.raises(PaperFailed) as refused:
        picture_prepare(data)
    assert paper_fault(refused.value).startswith("The file is not a picture")


def test_a_picture_with_holes_gets_white_paper_behind_it():
    written = io.BytesIO()
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(written, "PNG")
    assert Image.open(io.BytesIO(picture_prepare(written.getvalue()).body)).getpixel((5, 5)) == (255, 255, 255)
