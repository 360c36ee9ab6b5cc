"""Every sentence that a participant or an owner reads is translated, whole, and said from one piece."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest
from babel.messages import Catalog
from babel.messages.catalog import Message

from config import catalogues
from participants.core.language import list_text, ngettext
from participants.speaking import speaking
from trips.documents.days import CallPage, TurnPage
from trips.documents.wording.days import company_words

SAYS = ("_", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "noted", "pgettext")
KEPT = [(language, domain) for language in catalogues.TRANSLATED for domain in catalogues.DOMAINS]
HEBREW = "אלון"


def texts(message: Message) -> list[str]:
    """The forms of a translation."""
    return list(message.string) if isinstance(message.string, tuple | list) else [message.string]


def originals(message: Message) -> list[str]:
    """The forms of the English sentence."""
    return list(message.id) if isinstance(message.id, tuple | list) else [message.id]


def values_in(text: str) -> set[str]:
    """The names of the values that stand in a sentence, however they are written, and its HTML tags."""
    braces = {name for _text, name, _spec, _conversion in Formatter().parse(re.sub(r"%\(\w+\)s", "", text)) if name}
    return braces | set(re.findall(r"%\((\w+)\)s", text)) | set(re.findall(r"</?\w+", text))


def sentences(catalog: Catalog) -> list[Message]:
    return [message for message in catalog if message.id]


@pytest.mark.parametrize("domain", catalogues.DOMAINS)
def test_the_catalogues_are_up_to_date_with_the_sources(domain: str) -> None:
    marked = {(message.context, str(message.id)) for message in sentences(catalogues.found(domain))}
    for language in catalogues.TRANSLATED:
        kept = {(message.context, str(message.id)) for message in sentences(catalogues.known(language, domain))}
        assert kept == marked, "run manage.py messages update, and translate what is new"


@pytest.mark.parametrize(("language", "domain"), KEPT)
def test_every_sentence_is_translated_with_the_same_values(language: str, domain: str) -> None:
    catalog = catalogues.known(language, domain)
    assert catalog.num_plurals == 2
    for message in sentences(catalog):
        assert not message.fuzzy, message.id
        assert len(texts(message)) == len(originals(message)), message.id
        for text, original in zip(texts(message), originals(message), strict=True):
            assert text.strip(), f"not translated into {language}: {message.id}"
            assert values_in(text) == values_in(original), message.id


@pytest.mark.parametrize(
    ("language", "one", "none", "many"),
    [
        ("en", "1 step", "0 steps", "2 steps"),
        ("de", "1 Stufe", "0 Stufen", "2 Stufen"),
        ("es", "1 escalón", "0 escalones", "2 escalones"),
    ],
)
def test_a_number_has_its_form(language: str, one: str, none: str, many: str) -> None:
    with speaking(language):
        assert [ngettext("{number} step", "{number} steps", number) for number in (1, 0, 2)] == [one, none, many]


@pytest.mark.parametrize(
    ("language", "told"), [("en", "Ada, Ben and Cleo"), ("de", "Ada, Ben und Cleo"), ("es", "Ada, Ben y Cleo")]
)
def test_a_list_is_joined_as_the_language_does(language: str, told: str) -> None:
    with speaking(language):
        assert list_text(["Ada", "Ben", "Cleo"]) == told


@pytest.mark.parametrize("language", ["en", "de", "es"])
def test_a_name_from_right_to_left_ends_where_it_ends(language: str) -> None:
    turn = TurnPage("alder", "Alder", "left", CallPage(), company=("p1", "p2"))
    with speaking(language):
        told = company_words(turn, {"p1": HEBREW, "p2": "Ada"})
    assert f"\u2068{HEBREW}\u2069" in told
    assert told.endswith("Ada")


def modules() -> Iterator[tuple[str, ast.Module]]:
    for path, kind in catalogues.sources("django"):
        if kind == "python":
            yield path.relative_to(catalogues.ROOT).as_posix(), ast.parse(path.read_text(encoding="utf-8"))


def says(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAYS


def is_from_parts(node: ast.AST) -> bool:
    """A sentence made while it is said (f-string, sum), one that is added to, or one hidden inside an f-string."""
    if says(node) and any(isinstance(one, ast.JoinedStr | ast.BinOp) for one in node.args):  # type: ignore[attr-defined]
        return True
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Mod):
        return says(node.left) or says(node.right)
    hidden = ast.walk(node) if isinstance(node, ast.JoinedStr) else ()
    return any(says(one) and isinstance(one.args[0], ast.Constant) for one in hidden)  # type: ignore[attr-defined]


def test_no_sentence_is_built_from_parts() -> None:
    found = [f"{where}:{node.lineno}" for where, tree in modules() for node in ast.walk(tree) if is_from_parts(node)]
    assert found == []


@pytest.mark.parametrize("bad", ['_("a") + b', '_(f"a {b}")', "f\"{_('a')} b\"", '_("a %s") % b', '_("a" + b)'])
def test_the_lint_finds_sentences_built_from_parts(bad: str) -> None:
    assert any(is_from_parts(node) for node in ast.walk(ast.parse(bad)))


def glued(function: ast.AST) -> list[int]:
    """The lines where a translated text of a variable is added to, or stands among words in an f-string."""
    nodes = list(ast.walk(function))
    told = {
        target.id
        for node in nodes
        if isinstance(node, ast.Assign) and any(says(one) for one in _values_of(node.value))
        for target in node.targets
        if isinstance(target, ast.Name)
    }

    def is_told(node: ast.AST) -> bool:
        return isinstance(node, ast.Name) and node.id in told

    sums = [one for one in nodes if isinstance(one, ast.BinOp) and isinstance(one.op, ast.Add)]
    found = [one.lineno for one in sums if is_told(one.left) or is_told(one.right)]
    for node in (one for one in nodes if isinstance(one, ast.JoinedStr)):
        words = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
        if re.search(r"[A-Za-z]{3}", words) and any(is_told(one) for one in ast.walk(node)):
            found.append(node.lineno)
    return found


def _values_of(node: ast.AST) -> list[ast.AST]:
    """What an expression may be: both sides of a choice, itself otherwise."""
    if isinstance(node, ast.IfExp):
        return [*_values_of(node.body), *_values_of(node.orelse)]
    return node.values if isinstance(node, ast.BoolOp) else [node]  # type: ignore[return-value]


def test_no_translated_half_is_glued_to_words() -> None:
    functions = [
        (where, node) for where, tree in modules() for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)
    ]
    assert [f"{where}:{line}" for where, function in functions for line in glued(function)] == []


@pytest.mark.parametrize("bad", ['x = _("a")\ny = f"{x} and more"', 'x = _("a") if b else c\ny = x + c'])
def test_the_lint_finds_halves_that_are_glued(bad: str) -> None:
    assert glued(ast.parse(bad)) == [2]
    assert glued(ast.parse('x = _("a")\ny = f"{x} {b} cm"')) == []


def unmarked(source: str) -> list[str]:
    """The words of a template that stand outside what is translated."""
    source = re.sub(r"\{% blocktranslate.*?endblocktranslate %\}|\{#.*?#\}", " ", source, flags=re.DOTALL)
    source = re.sub(r"<style.*?</style>|(?m:^//.*$)", " ", source, flags=re.DOTALL)
    bare = re.sub(r'\{% include .*?\b(?:title|text|lead)="\w.*?%\}', " untranslated words ", source, flags=re.DOTALL)
    bare = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", bare, flags=re.DOTALL)
    read = " ".join(
        re.findall(r'\b(?:aria-label|alt|placeholder|data-online|data-queue-name|data-label)="([^"]*)"', bare)
    )
    shown = re.sub(r"<[^>]*>", " ", bare)
    return [word for word in re.findall(r"[A-Za-z]{2,}", f"{shown} {read}") if word != "Fairhide"]


@pytest.mark.parametrize("path", catalogues.templates_spoken(), ids=lambda path: path.name)
def test_a_template_says_nothing_that_is_not_translated(path: Path) -> None:
    if path.suffix != ".js":
        source = path.read_text(encoding="utf-8")
        assert unmarked(source) == []
        assert "pluralize" not in source  # other languages have other forms: {% blocktranslate count %}


def test_the_lint_finds_words_in_a_template() -> None:
    assert unmarked('<p title="x">Two words{% translate "more" %}</p>') == ["Two", "words"]
