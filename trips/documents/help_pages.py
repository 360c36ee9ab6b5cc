"""Pages of help from the repository's own documents, which are written in Markdown (CommonMark, and tables)."""

from collections.abc import Iterable, Iterator, Mapping

from markdown_it import MarkdownIt
from markdown_it.token import Token

_BOX = '<div class="table-scroll" role="region" tabindex="0" aria-label="Values">'


def help_html(text: str, addresses: Mapping[str, str]) -> str:
    """The document as HTML. `addresses`: where each document is served, by file name; links to others are words."""
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(text)
    for token in tokens:
        if token.type == "table_open":
            token.attrSet("class", "table table-sm")
        elif token.type == "th_open":
            token.attrSet("scope", "col")
        if token.children:
            token.children = list(_linked(token.children, addresses))
    html = str(reader.renderer.render(tokens, reader.options, {}))
    return html.replace("<table", f"{_BOX}<table").replace("</table>", "</table></div>")


def _linked(tokens: Iterable[Token], addresses: Mapping[str, str]) -> Iterator[Token]:
    """The pieces of a line, with links to pages that are served and without the others."""
    is_served = False
    for token in tokens:
        if token.type == "link_open":
            address = addresses.get(str(token.attrGet("href")))
            is_served = address is not None
            token.attrSet("href", address or "")
        if is_served or token.type not in ("link_open", "link_close"):
            yield token
