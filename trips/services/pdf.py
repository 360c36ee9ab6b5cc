"""Finished HTML in, tagged PDF out. It reads nothing but what the project's own packages hold.

WeasyPrint takes over a second to load, so only the functions that print import it.
"""

import atexit
import logging
import re
import subprocess
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template import Context, Engine
from fontTools.ttLib import TTFont

from participants.core.isolation import all_isolated
from participants.speaking import ENGLISH, speaking
from trips.documents.scripts import HOUSE_FONT, NoFont, PaperFailed, printable_text, printing_families, unprintable

PAGE_SIZES = {  # size and margins; A5 is printed as a booklet, a phone shows one column of 390 px
    "A4": ("A4", "9mm 12mm 12mm"),
    "Letter": ("Letter", "7mm 11mm 11mm"),
    "A5": ("A5", "9mm 10mm 16mm"),
    "Phone": ("390px 844px", "4mm 4mm 17mm"),
}
ADDRESS = "fairhide:"
_ONE_AT_A_TIME = threading.Lock()  # the library's fonts and log are shared, and threads would spoil each other's
_FONT_FILES = {"regular": "SourceSansPro-Regular.ttf", "bold": "SourceSansPro-Bold.ttf"}
_TAG = re.compile(r"<[^>]*>")


@dataclass(frozen=True, slots=True)
class Asset:
    """A picture or drawing of one paper, kept in memory."""

    body: bytes
    content_type: str


@dataclass(frozen=True, slots=True)
class PrintJob:
    """A paper to be printed: template, values, page size, and its pictures by name.

    `densities`: classes to try one after the other until the paper has at most `most_pages`; none = any length.
    `room`: about how many letters each of them but the last has room for, to begin there; none = with the first.
    `longer`: where even the last one has more, print that; else such a paper is refused, with `about`: whose it is.
    `language`: what it speaks.
    """

    template: str
    values: Mapping[str, Any]
    page_size: str = "A4"
    assets: Mapping[str, Asset] = field(default_factory=dict)
    densities: tuple[str, ...] = ()
    room: tuple[int, ...] = ()
    most_pages: int | None = 1
    longer: bool = False
    about: str = ""
    language: str = ENGLISH


def packaged_assets(assets: Mapping[str, Asset]) -> Any:
    """What answers our own addresses from memory and from installed packages, and stops the printing at any other."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    class PackagedAssets(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
            kind, _, name = url.removeprefix(ADDRESS).partition("/")
            if url.startswith(ADDRESS) and kind == "font" and name in _FONT_FILES:
                return URLFetcherResponse(url, _font_body(name), {"Content-Type": "font/ttf"})
            if url.startswith(ADDRESS) and kind == "picture" and name in assets:
                return URLFetcherResponse(url, assets[name].body, {"Content-Type": assets[name].content_type})
            raise FatalURLFetchingError(url)

    return PackagedAssets(allowed_protocols=[], allow_redirects=False)


def job_html(job: PrintJob) -> str:
    """The finished HTML of a paper, with the font families that its own text needs.

    Raises NoFont when some character of it has no font on this machine.
    """
    if job.page_size not in PAGE_SIZES:
        raise PaperFailed(reason="page_size", detail=job.page_size)
    template = _engine().get_template(job.template)
    box, margins = PAGE_SIZES[job.page_size]
    page = {"page_size": job.page_size, "page_box": box, "page_margins": margins, "families": HOUSE_FONT}
    values = {**all_isolated(dict(job.values)), **page}
    with speaking(job.language):
        html = printable_text(template.render(Context(values, use_l10n=False)))
    drawn = [asset.body.decode() for asset in job.assets.values() if asset.content_type == "image/svg+xml"]
    characters = set(html).union(*map(set, drawn))
    if missing := unprintable(characters, font_coverage()):
        raise NoFont(scripts=missing, where=_words_with(missing[0].characters, "\n".join([html, *drawn])))
    families = ", ".join(printing_families(characters, font_coverage()))
    return html.replace(f"font-family: {HOUSE_FONT};", f"font-family: {families};", 1)


def job_pdf(job: PrintJob) -> bytes:
    """The paper as PDF/UA-1 bytes. Raises NoFont or PaperFailed; never returns a paper with a hole in it."""
    for tried in tries(job):
        pdf = html_pdf(job_html(tried), job.assets, tried.most_pages)
        if pdf is not None:
            return pdf
    raise PaperFailed(reason="more_than_a_page", detail=job.about)


def tries(job: PrintJob) -> Iterator[PrintJob]:
    """The paper in one density after the other, from the first that its text is likely to fit in."""
    densities = job.densities[_likely(job) :] or ("",)
    for density in densities:
        any_length = not job.densities or (job.longer and density == densities[-1])
        values = {**job.values, "density": density}
        yield replace(job, values=values, most_pages=None if any_length else job.most_pages)


def _likely(job: PrintJob) -> int:
    if not job.room:
        return 0
    letters = len(_TAG.sub("", job_html(job)))
    return next((index for index, room in enumerate(job.room) if letters <= room), len(job.room))


def html_pdf(html: str, assets: Mapping[str, Asset], most_pages: int | None = None) -> bytes | None:
    """Finished HTML as PDF/UA-1 bytes; None, and nothing written, where its layout has more pages.

    Whatever the library would only have logged is an error here: raises PaperFailed.
    """
    import weasyprint

    options = {**weasyprint.DEFAULT_OPTIONS, "pdf_variant": "pdf/ua-1"}
    with _ONE_AT_A_TIME, _complaints() as complaints:
        fonts, stylesheet = _stylesheet()
        try:
            page = weasyprint.HTML(string=html, base_url=None, url_fetcher=packaged_assets(assets))
            document = page.render(font_config=fonts, **{**options, "stylesheets": [stylesheet]})
            fits = most_pages is None or len(document.pages) <= most_pages
            pdf = document.write_pdf(**options) if fits else None
        except weasyprint.urls.FatalURLFetchingError as refused:
            raise PaperFailed(reason="address", detail=str(refused)) from refused
    if complaints:
        raise PaperFailed(reason="drawing", detail=complaints[0])
    return None if pdf is None else bytes(pdf)


@cache
def font_coverage() -> Mapping[str, frozenset[int]]:
    """Code points by font family: the house font from its package, and the Noto fonts of this machine."""
    return _Coverage()


class _Coverage(Mapping[str, frozenset[int]]):
    """Reads a font's table only when somebody asks for it."""

    def __init__(self) -> None:
        self._files = installed_noto_fonts()
        self._read: dict[str, frozenset[int]] = {}

    def __getitem__(self, family: str) -> frozenset[int]:
        if family not in self._read:
            path, number = (_font_path("regular"), 0) if family == HOUSE_FONT else self._files[family]
            with TTFont(path, fontNumber=number, lazy=True) as font:
                self._read[family] = frozenset(font.getBestCmap())
        return self._read[family]

    def __iter__(self) -> Iterator[str]:
        return iter([HOUSE_FONT, *self._files])

    def __len__(self) -> int:
        return len(self._files) + 1


@cache
def installed_noto_fonts() -> Mapping[str, tuple[str, int]]:
    """File and number in the file of each upright Noto family that fontconfig knows; empty without fontconfig."""
    try:
        asked = ["fc-list", ":style=Regular", "--format", "%{family[0]}\t%{file}\t%{index}\n"]
        listed = subprocess.run(asked, capture_output=True, text=True, check=True, timeout=60).stdout
    except (OSError, subprocess.SubprocessError):
        return {}
    rows = [line.split("\t") for line in sorted(listed.splitlines())]
    return {family: (path, int(number) & 0xFFFF) for family, path, number in rows if family.startswith("Noto ")}


@cache
def _stylesheet() -> tuple[Any, Any]:
    import weasyprint
    from weasyprint.text.fonts import FontConfiguration

    atexit.register(_stylesheet.cache_clear)  # while the library that frees the fonts is still there
    fonts = FontConfiguration()
    folder = _templates() / "papers"
    text = (folder / "sizes.css").read_text() + (folder / "paper.css").read_text()
    return fonts, weasyprint.CSS(string=text, font_config=fonts, url_fetcher=packaged_assets({}))


@cache
def _engine() -> Engine:
    own = {"turn_words": "trips.templatetags.turn_words", "i18n": "django.templatetags.i18n"}
    return Engine(dirs=[str(_templates())], autoescape=True, libraries=own)


def _templates() -> Path:
    return Path(settings.BASE_DIR) / "templates"


def _font_path(name: str) -> str:
    return str(files("font_source_sans_pro") / "files" / _FONT_FILES[name])


@cache
def _font_body(name: str) -> bytes:
    return Path(_font_path(name)).read_bytes()


def _words_with(characters: str, html: str) -> str:
    """The first words of the paper's text that hold one of the characters, so that a person finds them."""
    text = _TAG.sub("\n", html)
    lines = (line.strip() for line in text.splitlines() if set(line) & set(characters))
    return next(lines, characters)[:80]


@contextmanager
def _complaints() -> Iterator[list[str]]:
    """Collects what the library logs as errors and warnings while it prints."""
    found: list[str] = []

    class Collector(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            found.append(record.getMessage())

    collector, logger = Collector(logging.WARNING), logging.getLogger("weasyprint")
    logger.addHandler(collector)
    try:
        yield found
    finally:
        logger.removeHandler(collector)
