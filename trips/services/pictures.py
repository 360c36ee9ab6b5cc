"""Pictures for papers: turned the way a viewer shows them, stripped of everything but the picture."""

import io
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

from trips.documents.scripts import PaperFailed
from trips.services.pdf import Asset

MAX_PIXELS = 40_000_000  # more than this is refused before it is decoded
MAX_BYTES = 30_000_000
PRINT_PIXELS = 2000  # longest side on paper: 170 mm at 300 dots an inch
KINDS = ("JPEG", "PNG", "WEBP", "TIFF")


def picture_prepare(data: bytes) -> Asset:
    """The picture as a JPEG without metadata, upright, at most 2000 pixels long.

    Raises PaperFailed with reason picture_unreadable or picture_too_large (detail: its size) before decoding.
    """
    if len(data) > MAX_BYTES:
        raise PaperFailed(reason="picture_too_large", detail=f"{len(data) / 1e6:.0f} MB")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(data), formats=KINDS)
        if picture.width * picture.height > MAX_PIXELS:
            raise PaperFailed(reason="picture_too_large", detail=f"{picture.width} × {picture.height} pixels")
        upright = ImageOps.exif_transpose(picture)
        upright.thumbnail((PRINT_PIXELS, PRINT_PIXELS))
        flat = Image.new("RGB", upright.size, "white")
        with_alpha = upright.convert("RGBA")
        flat.paste(with_alpha, mask=with_alpha.getchannel("A"))
    except Image.DecompressionBombError as giant:
        raise PaperFailed(reason="picture_too_large", detail="hundreds of megapixels") from giant
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as broken:
        raise PaperFailed(reason="picture_unreadable", detail=type(broken).__name__) from broken
    written = io.BytesIO()
    flat.save(written, "JPEG", quality=88)
    return Asset(written.getvalue(), "image/jpeg")
