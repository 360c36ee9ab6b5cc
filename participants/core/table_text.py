"""Tables as text for spreadsheets: read with any usual encoding and separator, written so that no cell is a formula."""

import codecs
import csv
import io
from dataclasses import dataclass

from charset_normalizer import from_bytes

from participants.core.errors import BadShape
from participants.core.isolation import typed_text

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
ENCODINGS = ("utf-8", "utf-16", "cp1252", "iso8859-15", "cp1250", "cp1251", "cp1253", "mac_roman")
MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
GUARD = "'"
ROWS_AT_MOST = 2000  # a hundred times a large group
BYTES_AT_MOST = 512 * 1024  # what that many rows need


@dataclass(frozen=True, slots=True)
class Table:
    """A table as read: how it was read, its heading, and its rows of equal length with their numbers in the file."""

    encoding: str
    delimiter: str
    heading: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def cell_written(text: str) -> str:
    """A cell as it goes into a file: one that a spreadsheet could run gets an apostrophe in front, and so does one
    that looks as if it had got one."""
    if text.startswith(FORMULA_STARTS) or (text[:1] == GUARD and text[1:].startswith((*FORMULA_STARTS, GUARD))):
        return GUARD + text
    return text


def cell_read(text: str) -> str:
    """The cell behind that apostrophe; any other apostrophe stays."""
    if text[:1] == GUARD and text[1:].startswith((*FORMULA_STARTS, GUARD)):
        return text[1:]
    return text


def table_written(heading: tuple[str, ...], rows: list[tuple[str, ...]]) -> bytes:
    """A table as a file: UTF-8 with a byte-order mark, commas, CRLF."""
    written = io.StringIO(newline="")
    writer = csv.writer(written, lineterminator="\r\n")
    for row in (heading, *rows):
        writer.writerow([cell_written(cell) for cell in row])
    return written.getvalue().encode("utf-8-sig")


def encoding_found(data: bytes) -> str:
    """The encoding of a file: by its mark, UTF-8 where that fits, else the likeliest of those with a byte a letter."""
    for mark, name in MARKS:
        if data.startswith(mark):
            return name
    try:
        data.decode("utf-8")
        return "utf-8"
    except UnicodeDecodeError:
        one_byte = [name for name in ENCODINGS if not name.startswith("utf")]
        likely = list(from_bytes(data, cp_isolation=one_byte))
        best = [one.encoding for one in likely if (one.chaos, one.coherence) == (likely[0].chaos, likely[0].coherence)]
        return next((name for name in one_byte if name in best), one_byte[0])  # equals go by how common they are


def decoded(data: bytes, encoding: str) -> str:
    """The text of a file; BadShape where that encoding cannot be."""
    if encoding not in (*ENCODINGS, "utf-8-sig"):
        raise BadShape(path="encoding", value=encoding, reason="unknown_encoding")
    try:
        text = data.decode("utf-8-sig" if encoding.startswith("utf-8") else encoding)
    except (UnicodeDecodeError, UnicodeError) as wrong:
        raise BadShape(path="encoding", value=encoding, reason="wrong_encoding") from wrong
    if "\x00" in text:
        raise BadShape(path="file", value=None, reason="not_text")
    return text


def _records(text: str, delimiter: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as wrong:
        raise BadShape(path="file", value=str(wrong), reason="not_a_table") from wrong


def delimiter_found(text: str, known: frozenset[str]) -> str:
    """The separator under which most headings are known; ties go to the one whose rows are even."""

    def fit(delimiter: str) -> tuple[int, bool, int]:
        try:
            records = [record for record in _records(text, delimiter) if any(cell.strip() for cell in record)]
        except BadShape:
            return -1, False, 0
        heading = [heading_key(cell) for cell in records[0]] if records else []
        even = len({len(record) for record in records}) == 1
        return sum(cell in known for cell in heading), even, len(heading)

    return max(DELIMITERS, key=fit)


def heading_key(cell: str) -> str:
    """A heading as it is compared: small letters, words joined by _."""
    return "_".join(cell_read(cell).strip().lower().replace("-", " ").replace("_", " ").split())


def table_read(data: bytes, known: frozenset[str], *, encoding: str = "", delimiter: str = "") -> Table:
    """A file as a table; encoding and separator are found unless given. BadShape with a reason otherwise.

    Empty lines are left out, missing cells at a row's end are empty; more cells than headings are an error later on.
    """
    if len(data) > BYTES_AT_MOST:
        raise BadShape(path="file", value=len(data), reason="too_large")
    encoding = encoding or encoding_found(data)
    text = decoded(data, encoding)
    delimiter = delimiter or delimiter_found(text, known)
    if delimiter not in DELIMITERS:
        raise BadShape(path="delimiter", value=delimiter, reason="unknown_delimiter")
    numbered = [(number, record) for number, record in enumerate(_records(text, delimiter), start=1)]
    filled = [(number, record) for number, record in numbered if any(cell.strip() for cell in record)]
    if not filled:
        raise BadShape(path="file", value=None, reason="empty")
    if len(filled) - 1 > ROWS_AT_MOST:
        raise BadShape(path="file", value=len(filled) - 1, reason="too_many_rows")
    heading = tuple(heading_key(cell) for cell in filled[0][1])
    rows = tuple(
        (number, tuple(typed_text(cell_read(cell)) for cell in record) + ("",) * (len(heading) - len(record)))
        for number, record in filled[1:]
    )
    return Table(encoding.removesuffix("-sig"), delimiter, heading, rows)
