"""From the values of a paper to a print job: template, pictures, codes."""

import io
import re
import warnings
from dataclasses import replace
from typing import Any

import segno
from PIL import Image, ImageOps, UnidentifiedImageError

from trips.documents.briefing_cards import Card
from trips.documents.briefing_pages import Briefing
from trips.documents.day_sheet import DaySheet
from trips.documents.door_card import DoorCard
from trips.documents.drawings.turn_bar import light_key, turn_bar
from trips.documents.gear_table import GearTable
from trips.documents.owner_sheet import OwnerSheet
from trips.documents.registration_form import RegistrationForm
from trips.documents.rota_sheet import RotaSheet
from trips.documents.safety import TakeCare
from trips.documents.scripts import PaperFailed
from trips.services.pdf import ADDRESS, Asset, PrintJob

SVG = "image/svg+xml"
_ROOT = re.compile(r'<svg\b[^>]*\bviewBox="(\S+ \S+) (\S+) (\S+)"[^>]*>')
_SIDES = re.compile(r'\s(?:width|height)="[^"]*"')
_LABEL = re.compile(r'font-size="([\d.]+)"')
BRIEFING_PAGES = 4  # two sheets, printed on both sides
BRIEFING_DENSITIES = ("roomy", "close")
BRIEFING_ROOM = (20_000,)  # letters that the roomy print has room for, measured on printed briefings
MANY_TURNS = 9  # beyond these the roomy print has no room for all turns on the first page
LABEL_PT = 8.1  # the smallest print of a drawing
FLOATED_PT = 150.0  # a wider drawing leaves no room for text beside it
OWNER_DENSITIES = ("roomy", "even", "close", "closer")
LINE_LETTERS = 60  # about as many letters as a line of print has


def briefing_job(briefing: Briefing, page_size: str = "A4", meeting_picture: Asset | None = None) -> PrintJob:
    """The briefing of one person; `meeting_picture`: a picture of the meeting point, already prepared.

    Its lines stand closer before the paper has more than four pages; no letter gets smaller.
    """
    assets: dict[str, Asset] = {}
    values: dict[str, Any] = {"head": briefing.head}
    values["paper"] = replace(briefing, cards=_pictured(briefing.cards, assets))
    if any(card.bar for card in values["paper"].cards):
        values["light_key"] = [
            (_placed(f"key-{number}", Asset(drawn.encode(), SVG), assets), said)
            for number, (drawn, said) in enumerate(light_key())
        ]
    if briefing.page_url:
        values["page_code"] = _placed("code", Asset(code_svg(briefing.page_url), SVG), assets)
    if meeting_picture is not None:
        values["meeting_picture"] = _placed("meeting", meeting_picture, assets)
    many = len(briefing.sessions) > MANY_TURNS
    densities, room = (("close many",), ()) if many else (BRIEFING_DENSITIES, BRIEFING_ROOM)
    language = briefing.head.language
    job = PrintJob("papers/briefing.html", values, page_size, assets, densities, room, BRIEFING_PAGES, longer=True)
    return replace(job, language=language)


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


def rota_sheet(paper: RotaSheet, page_size: str = "A4") -> PrintJob:
    """Everybody in every session, on one page where it fits in a print that can be read."""
    return replace(_plain("rota_sheet", paper, page_size), densities=("roomy", "close"), longer=True)


def take_care(paper: TakeCare, page_size: str = "A4") -> PrintJob:
    """Cautions and manners for the whole group."""
    return _plain("take_care", paper, page_size)


def door_card(paper: DoorCard, page_size: str = "A4") -> PrintJob:
    """The card inside a hide's door."""
    return _plain("door_card", paper, page_size)


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


def _plain(name: str, paper: Any, page_size: str) -> PrintJob:
    values = {"head": paper.head, "paper": paper}
    return PrintJob(f"papers/{name}.html", values, page_size, language=paper.head.language)


def _pictured(cards: tuple[Card, ...], assets: dict[str, Asset]) -> tuple[Card, ...]:
    """The cards with their drawings among the assets, one a hide: they are too long to be looked through with the text.

    Each turn gets the bar of its light.
    """
    drawn: set[str] = set()
    found = []
    for number, card in enumerate(cards, 1):
        drawing, bar, wide = "", "", False
        if card.drawing and card.turn.hide_key not in drawn:
            drawn.add(card.turn.hide_key)
            svg, width_pt = readable(card.drawing)
            drawing, wide = _placed(f"drawing-{number}", Asset(svg.encode(), SVG), assets), width_pt > FLOATED_PT
        if card.view and card.view.light:
            bar = _placed(f"bar-{number}", Asset(turn_bar(card.view.light, f"bar-{number}").encode(), SVG), assets)
        found.append(replace(card, drawing=drawing, bar=bar, wide=wide))
    return tuple(found)


def readable(svg: str) -> tuple[str, float]:
    """The drawing as large as it has to be for its smallest label to be read, 8 points or a little more; its width."""
    head = _ROOT.match(svg)
    labels = [float(size) for size in _LABEL.findall(svg)]
    if head is None or not labels:
        return svg, 0.0
    scale = LABEL_PT / min(labels)
    width, height = (scale * float(side) for side in head.group(2, 3))
    root = _SIDES.sub("", head.group(0)).removesuffix(">")
    return f'{root} width="{width:.1f}pt" height="{height:.1f}pt">{svg[head.end() :]}', width


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
