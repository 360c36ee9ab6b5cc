"""The forms of a page as a browser reads them, with what it would send."""

from dataclasses import dataclass, field
from html.parser import HTMLParser


@dataclass
class PageForm:
    """One form: where it goes, how, every name in it, and what is sent when nothing is touched.

    `measured`: the names of fields for numbers, days and times; `offers`: what may be chosen of each list or box.
    """

    action: str
    method: str
    names: list[str] = field(default_factory=list)
    measured: list[str] = field(default_factory=list)
    sent: dict[str, str] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)
    offers: dict[str, list[str]] = field(default_factory=dict)


class FormReader(HTMLParser):
    """Collects the forms of a page; files are left out."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self._form: PageForm | None = None
        self._select = self._textarea = ""
        self.feed(page)

    def handle_starttag(self, tag, attrs) -> None:
        given = dict(attrs)
        name, value = given.get("name") or "", given.get("value") or ""
        if tag == "form":
            self._form = PageForm(given.get("action") or "", (given.get("method") or "get").lower())
            self.forms.append(self._form)
        elif self._form is None:
            return
        elif tag == "option" and self._select:
            self._form.offers.setdefault(self._select, []).append(value)
            if "selected" in given or self._select not in self._form.sent:
                self._form.sent[self._select] = value
        elif name and given.get("type") != "file":
            self._named(tag, name, value, given)

    def _named(self, tag, name, value, given) -> None:
        assert self._form is not None
        if tag == "button":
            self._form.buttons.append((name, value))
        elif tag in ("input", "select", "textarea"):
            self._form.names.append(name)
            if given.get("type") in ("number", "date", "time") or given.get("inputmode") in ("decimal", "numeric"):
                self._form.measured.append(name)
            if given.get("type") in ("checkbox", "radio"):
                self._form.offers.setdefault(name, []).append(value)
            ticked = given.get("type") not in ("checkbox", "radio") or "checked" in given
            if tag == "input" and ticked:
                self._form.sent[name] = value or ("on" if given.get("type") == "checkbox" else "")
            self._select = name if tag == "select" else self._select
            self._textarea = name if tag == "textarea" else self._textarea

    def handle_data(self, data) -> None:
        if self._form is not None and self._textarea:
            self._form.sent[self._textarea] = self._form.sent.get(self._textarea, "") + data

    def handle_endtag(self, tag) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._textarea = ""
