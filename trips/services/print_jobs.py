"""From the values of a paper to a print job: template, pictures, codes."""

import io
import warnings
from dataclasses import replace
from typing import Any

import segno
from PIL import Image, ImageOps, UnidentifiedImageError

from trips.documents.briefing_cards import Card
from trips.documents.briefing_pages import Briefing
from trips.documents.day_sheet import DaySheet
from trips.documents.door_card import DoorCard
from trips.documents.gear_table import GearTable
from trips.documents.owner_sheet import OwnerSheet
from trips.documents.registration_form import RegistrationForm
from trips.documents.safety import DEFERS, SOURCES_NOTE
from trips.documents.scripts import PaperFailed
from trips.services.pdf import ADDRESS, Asset, PrintJob

SVG = "image/svg+xml"
BRIEFING_PAGES = 6  # three sheets, printed on both sides
BRIEFING_DENSITIES = ("roomy", "roomy flowing", "close flowing", "closer flowing")
BRIEFING_ROOM = (15_500, 22_000, 23_500)  # letters of the densities above, measured on printed briefings
MANY_TURNS = 9  # beyond these the roomy print has no room for all turns on the first page
OWNER_DENSITIES = ("roomy", "even", "close", "closer")
LINE_LETTERS = 60  # about as many letters as a line of print has


def briefing_job(briefing: Briefing, page_size: str = "A4", meeting_picture: Asset | None = None) -> PrintJob:
    """The briefing of one person; `meeting_picture`: a picture of the meeting point, already prepared.

    Its parts follow one another without a new page, then the print gets a little smaller, before the paper has more
    than six pages.
    """
    assets: dict[str, Asset] = {}
    values: dict[str, Any] = {"head": briefing.head, "defers": DEFERS, "sources_note": SOURCES_NOTE}
    values["paper"] = replace(briefing, cards=tuple(_pictured(card, assets) for card in briefing.cards))
    if briefing.page_url:
        values["page_code"] = _placed("code", Asset(code_svg(briefing.page_url), SVG), assets)
    if meeting_picture is not None:
        values["meeting_picture"] = _placed("meeting", meeting_picture, assets)
    first = 2 if len(briefing.sessions) > MANY_TURNS else 0
    densities, room = BRIEFING_DENSITIES[first:], BRIEFING_ROOM[first:]
    return PrintJob("papers/briefing.html", values, page_size, assets, densities, room, BRIEFING_PAGES, longer=True)


def day_sheet(paper: DaySheet, page_size: str = "A4") -> PrintJob:
    """The leader's sheet of one day."""
    return _plain("day_sheet", paper, page_size)


def owner_sheet(paper: OwnerSheet, page_size: str = "A4") -> PrintJob:
    """The owner's sheet of one day, always on one page: the print gets smaller before it would run over."""
    return replace(_plain("owner_sheet", paper, page_size), densities=OWNER_DENSITIES, about=_owner_about(paper))


def _owner_about(paper: OwnerSheet) -> str:
    """Day and site, and the hide whose tasks take more room than all others together."""
    lengths = {one.hide: len(one.text) + LINE_LETTERS * one.text.count("\n") for one in paper.tasks}
    longest = max(lengths, key=lambda hide: lengths[hide], default="")
    most = longest and lengths[longest] > sum(lengths.values()) / 2
    return f"{paper.name}, {paper.site}" + (f" (most of it: tasks in {longest})" if most else "")


def door_card(paper: DoorCard, page_size: str = "A4") -> PrintJob:
    """The card inside a hide's door."""
    return _plain("door_card", paper, page_size, defers=DEFERS)


def gear_table(paper: GearTable, page_size: str = "A4") -> PrintJob:
    """Who brings what."""
    return _plain("gear_table", paper, page_size)


def registration_form(paper: RegistrationForm, page_size: str = "A4") -> PrintJob:
    """The form for those who write by hand."""
    return _plain("registration_form", paper, page_size)


def code_svg(address: str) -> bytes:
    """A QR code of an address as SVG, black on white, error level M (ISO/IEC 18004). Raises PaperFailed."""
    written = io.BytesIO()
    try:
        code = segno.make(address, error="m", micro=False)
    except segno.DataOverflowError as overflow:
        raise PaperFailed(reason="code_too_long", detail=f"{address[:60]}…") from overflow
    code.save(written, kind="svg", border=2, xmldecl=False, svgns=True)
    return written.getvalue()


def _plain(name: str, paper: Any, page_size: str, **more: Any) -> PrintJob:
    return PrintJob(f"papers/{name}.html", {"head": paper.head, "paper": paper, **more}, page_size)


def _pictured(card: Card, assets: dict[str, Asset]) -> Card:
    """The card with its drawing among the assets: it is too long to be looked through with the text."""
    if not card.drawing:
        return card
    return replace(card, drawing=_placed(f"drawing-{len(assets) + 1}", Asset(card.drawing.encode(), SVG), assets))


def _placed(name: str, asset: Asset, assets: dict[str, Asset]) -> str:
    assets[name] = asset
    return f"{ADDRESS}picture/{name}"


MAX_PIXELS = 40_000_000  # more than this is refused before it is decoded
MAX_BYTES = 30_000_000  # as much as a page of print is worth
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
    flat.save(written, "JPEG", quality=88)  # no loss to be seen in print
    return Asset(written.getvalue(), "image/jpeg")
