"""The catalogues of translations: found in the sources, kept in locale/, compiled for the running house.

Sentences of templates and Python are in the domain "django", those of participants' scripts in "djangojs". It all works
without system tools: Django turns templates into text that Babel reads, and Babel writes the compiled files.
"""

import os
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parent.parent
LOCALE = ROOT / "locale"
TRANSLATED = ("de", "es")
DOMAINS = ("django", "djangojs")
FUNCTIONS: dict[str, Any] = {
    **dict.fromkeys(("_", "gettext", "gettext_lazy", "gettext_noop", "noted")),
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
}
OWN = ("participants", "trips", "config")
SPOKEN = (
    *("base.html", "40*.html", "partials/*.html", "papers/*.html", "participants/*.*", "participants/mail/*.*"),
    *("trips/mail/*.*", "trips/my_*.html", "trips/_my_*.html", "trips/piece_*.html", "trips/_day_meals.html"),
    *("trips/gear_picture.html", "trips/gear_show.html", "trips/_gear_show_actions.html", "trips/_verdicts.html"),
    *("trips/_now_*.html", "trips/_settings_table.html"),
    *("trips/packing_show.html", "trips/picture_save.html", "trips/driver_list_*.html"),
    "bootstrap5/layout/help_text.html",
)
LEADERS_OWN = (
    *("participants/sign_in_link_show.html", "papers/day_sheet.html", "papers/gear_table.html", "papers/incident.html"),
    "papers/rota_sheet.html",
    *("partials/_overdue.html", "trips/mail/overdue.html", "trips/mail/overdue.txt", "trips/mail/overdue.subject.txt"),
)
SCRIPTS = "participants/static/participants"
_WRITTEN_AT = datetime(2027, 1, 1, tzinfo=UTC)  # the history of the repository says when a catalogue changed


def po_path(language: str, domain: str) -> Path:
    """Where translators write."""
    return LOCALE / language / "LC_MESSAGES" / f"{domain}.po"


def templates_spoken() -> list[Path]:
    """The templates that a participant or an owner reads; leaders' pages are in English."""
    folder = ROOT / "templates"
    found = {path for pattern in SPOKEN for path in folder.glob(pattern)}
    return sorted(found - {folder / name for name in LEADERS_OWN})


def sources(domain: str) -> Iterator[tuple[Path, str]]:
    """The files with sentences of a domain, each with how it is read."""
    if domain == "djangojs":
        yield from ((path, "javascript") for path in sorted((ROOT / SCRIPTS).glob("*.js")))
        return
    for package in OWN:
        yield from (
            (path, "python") for path in sorted((ROOT / package).rglob("*.py")) if "migrations" not in path.parts
        )
    yield from ((path, "template") for path in templates_spoken())


def found(domain: str) -> Catalog:
    """Every sentence that the sources mark."""
    catalog = Catalog(charset="utf-8")
    for path, kind in sources(domain):
        text = path.read_text(encoding="utf-8")
        if kind == "template":  # each line begins at its margin, or the lines would read as blocks of Python
            text = "\n".join(line.lstrip() for line in templatize(text).splitlines())
        method = "javascript" if kind == "javascript" else "python"
        for _line, message, _comments, context in extract(method, BytesIO(text.encode()), FUNCTIONS):
            catalog.add(message, context=context)
    return catalog


def known(language: str, domain: str) -> Catalog:
    """The catalogue of a language as it is kept."""
    with po_path(language, domain).open("rb") as kept:
        return read_po(kept, locale=language, domain=domain)


def update() -> None:
    """Bring the kept catalogues up to the sources: new sentences wait for their translation, old ones go."""
    for domain in DOMAINS:
        template = found(domain)
        for language in TRANSLATED:
            catalog = known(language, domain)
            catalog.update(template, no_fuzzy_matching=True)
            catalog.creation_date = catalog.revision_date = _WRITTEN_AT
            written = BytesIO()
            write_po(written, catalog, width=120, no_location=True, sort_output=True, ignore_obsolete=True)
            po_path(language, domain).write_bytes(written.getvalue())


def compile_all() -> None:
    """Make the compiled file of every catalogue that is newer than it; whoever reads one meanwhile has a whole one."""
    for domain in DOMAINS:
        for language in TRANSLATED:
            source = po_path(language, domain)
            target = source.with_suffix(".mo")
            if target.exists() and target.stat().st_mtime_ns >= source.stat().st_mtime_ns:
                continue
            half = target.with_suffix(f".{os.getpid()}")
            with half.open("wb") as written:
                write_mo(written, known(language, domain))
            half.replace(target)


def not_compiled() -> list[str]:
    """The languages of which a compiled catalogue is missing."""
    return [one for one in TRANSLATED if not all(po_path(one, name).with_suffix(".mo").exists() for name in DOMAINS)]
