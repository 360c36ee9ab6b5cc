"""Reading papers back: text, structure and dots."""

import io
import re
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
from PIL import Image


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def page_texts(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in reader(pdf).pages]


def text_of(pdf: bytes) -> str:
    return "\n".join(page_texts(pdf))


def one_line(text: str) -> str:
    """The text with every run of blanks as one: a paper breaks lines where it likes."""
    return " ".join(text.split())


def structure(pdf: bytes) -> list[dict[str, Any]]:
    """Every element of the structure tree, in reading order, as plain dictionaries."""
    found: list[dict[str, Any]] = []

    def walk(node: Any) -> None:
        node = node.get_object()
        if isinstance(node, list):
            for kid in node:
                walk(kid)
        elif isinstance(node, dict) and node.get("/Type") != "/OBJR":
            if "/S" in node:
                found.append(node)
            if "/K" in node:
                walk(node["/K"])

    walk(reader(pdf).trailer["/Root"]["/StructTreeRoot"]["/K"])
    return found


def tags(pdf: bytes) -> list[str]:
    return [str(element["/S"]).removeprefix("/") for element in structure(pdf)]


def words(pdf: bytes) -> list[list[tuple[str, float, float, float, float]]]:
    """By page every word with its left, top, right and bottom edge in points from the page's upper left corner."""
    asked = ["pdftotext", "-bbox", "-", "-"]
    found = subprocess.run(asked, input=pdf, capture_output=True, check=True, timeout=60).stdout.decode()
    boxed = r'<word xMin="(\S+)" yMin="(\S+)" xMax="(\S+)" yMax="(\S+)">(.*?)</word>'
    return [
        [(text, float(left), float(top), float(right), float(bottom)) for left, top, right, bottom, text in lines]
        for lines in (re.findall(boxed, page) for page in found.split("<page ")[1:])
    ]


def dots(pdf: bytes, page: int = 1, dots_per_inch: int = 50) -> np.ndarray:
    """A page as red, green and blue, 0-255, the way a screen shows it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "paper.pdf"
        path.write_bytes(pdf)
        wanted = ["-f", str(page), "-l", str(page), "-r", str(dots_per_inch), "-png", "-singlefile"]
        subprocess.run(["pdftoppm", *wanted, str(path), f"{folder}/page"], check=True, timeout=60)
        return np.asarray(Image.open(f"{folder}/page.png").convert("RGB"))
