"""Pages of help from the repository's own documents: the part of Markdown that they use, as HTML.

Headings, paragraphs, lists, tables, `code`, **bold**, and links between the pages; anything else stays as it is typed.
"""

import re
from collections.abc import Iterator, Mapping
from html import escape
from itertools import groupby

_ITEM = re.compile(r"(?:- |\d+\. )(.*)")
_LINK = re.compile(r"\[([^]]+)\]\(([^)]+)\)")


def help_html(text: str, addresses: Mapping[str, str]) -> str:
    """The document as HTML. `addresses`: where each document is served, by file name; links to others are words."""
    return "\n".join(_blocks(text, addresses))


def _blocks(text: str, addresses: Mapping[str, str]) -> Iterator[str]:
    for kind, found in groupby(text.splitlines(), _kind):
        lines = list(found)
        if kind == "heading":
            yield from (_heading(line, addresses) for line in lines)
        elif kind in ("ul", "ol"):
            items = (_inline(item[1], addresses) for line in lines if (item := _ITEM.match(line)))
            yield f"<{kind}>{''.join(f'<li>{item}</li>' for item in items)}</{kind}>"
        elif kind == "table":
            yield _table(lines, addresses)
        elif kind == "text":
            yield f"<p>{_inline(' '.join(lines), addresses)}</p>"


def _kind(line: str) -> str:
    if line.startswith("#"):
        return "heading"
    if line.startswith("|"):
        return "table"
    item = _ITEM.match(line)
    return ("ul" if line.startswith("-") else "ol") if item else "text" if line.strip() else ""


def _heading(line: str, addresses: Mapping[str, str]) -> str:
    level = len(line) - len(line.lstrip("#"))
    return f"<h{level}>{_inline(line[level:].strip(), addresses)}</h{level}>"


def _table(lines: list[str], addresses: Mapping[str, str]) -> str:
    head, _, *rows = ([_inline(cell.strip(), addresses) for cell in line.strip("|").split("|")] for line in lines)
    top = "".join(f'<th scope="col">{cell}</th>' for cell in head)
    body = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rows)
    table = f'<table class="table table-sm"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'
    return f'<div class="table-scroll" role="region" tabindex="0" aria-label="Values">{table}</div>'


def _inline(text: str, addresses: Mapping[str, str]) -> str:
    def linked(match: re.Match[str]) -> str:
        address = addresses.get(match[2])
        return f'<a href="{address}">{match[1]}</a>' if address else match[1]

    parts = re.split(r"(`[^`]*`)", escape(text.replace("&lt;", "<"), quote=False))
    return "".join(
        f"<code>{part[1:-1]}</code>" if part.startswith("`") else _LINK.sub(linked, _bold(part)) for part in parts
    )


def _bold(text: str) -> str:
    return re.sub(r"\*\*(.+?)\*\*", r"<strong>\1</strong>", text)
