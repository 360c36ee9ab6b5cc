"""What README.md and DEVELOPERS.md say is held against the files; templates keep the security policy."""

import json
import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from config import settings as house_settings
from tests.bench import frame

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
# Papers and mails are no pages: no security policy of a browser applies to them.
PAGES = sorted(path for path in (ROOT / "templates").rglob("*.html") if not {"papers", "mail"} & set(path.parts))


def tracked() -> list[str]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return listed.splitlines()


def mapped() -> set[str]:
    section = DEVELOPERS.partition("## The map")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (`.*?) \|", section, re.MULTILINE)
    return {name for row in rows for name in re.findall(r"`([^`]+)`", row)}


def run(*command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    allowed = {"PATH": os.environ["PATH"], "HOME": os.environ.get("HOME", "/")} | environment
    return subprocess.run(command, cwd=ROOT, env=allowed, capture_output=True, text=True, check=False, timeout=120)


# --- The two papers about the house ---------------------------------------------------------------------------------


def test_everything_on_the_map_exists() -> None:
    assert len(mapped()) > 20
    assert [name for name in mapped() if not (ROOT / name).exists()] == []


def test_every_room_is_on_the_map() -> None:
    rooms = {
        f"{path.split('/')[0]}/" for path in tracked() if "/" in path and path.split("/")[0] not in (".ci", "docs")
    }
    packages = {
        f"{Path(path).parent}/"
        for path in tracked()
        if path.startswith(("trips/", "participants/")) and path.endswith(".py") and path.count("/") == 2
    }
    wanted = {name for name in rooms | packages if not name.endswith("/migrations/")}
    assert sorted(wanted - mapped()) == []


def test_every_setting_from_the_environment_is_in_the_readme() -> None:
    read = set(re.findall(r'env(?:iron)?\.\w+\(\s*"(\w+)"', Path(house_settings.__file__).read_text()))
    told = set(re.findall(r"^\| `([A-Z_]+)` \|", README, re.MULTILINE))
    assert read == told


def test_every_script_named_exists_and_can_be_run() -> None:
    named = set(re.findall(r"`?(script/[a-z]+)\b(?!\.)", README + DEVELOPERS))
    assert {"script/demo", "script/test", "script/bootstrap", "script/check", "script/bench"} <= named
    assert [name for name in named if not os.access(ROOT / name, os.X_OK)] == []


def test_the_readme_names_every_command_and_no_other() -> None:
    own = {
        path.stem
        for path in ROOT.glob("*/management/commands/*.py")
        if path.parts[-4] in ("trips", "participants", "config") and path.stem != "__init__"
    }
    table = "".join(re.findall(r"^\| (`.*?`) \|", README.partition("## Commands")[2], re.MULTILINE))
    assert set(re.findall(r"`([a-z_]+)\b", table)) - {"manage"} == own
    known = run(sys.executable, "manage.py", "help", "--commands").stdout.split()
    assert sorted(set(re.findall(r"manage\.py ([a-z_]+)", README)) - {"help"} - set(known)) == []


def test_pictures_in_the_readme_are_there() -> None:
    for name in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README):
        assert (ROOT / name).read_bytes().startswith(b"\x89PNG")


# --- Templates ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_template_has_no_inline_style_or_script(path: Path) -> None:
    text = path.read_text()
    assert not re.search(r"<style\b|\sstyle=|\son[a-z]+=\"|javascript:", text)
    assert not re.search(r"<script(?![^>]*\bsrc=)(?![^>]*type=\"application/json\")", text)
    assert not re.search(r"(?:src|href)=\"(?:https?:)?//", text)


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_page_with_a_form_says_in_a_summary_what_is_wrong(path: Path) -> None:
    """A form with an action of its own comes back filled on the page that it leads to."""
    text = path.read_text()
    forms = re.findall(r"<form\b([^>]*)>(.*?)</form>", text, re.DOTALL)
    if any("|crispy" in inside and "action=" not in opening for opening, inside in forms):
        assert "_error_summary.html" in text, "what is wrong beside no field would be lost"


def test_every_dependency_tells_its_licence() -> None:
    lines = run(sys.executable, "script/licences.py").stdout.splitlines()
    assert any(line.startswith("site  django ") and line.endswith("BSD-3-Clause") for line in lines)
    pinned = {line.partition("==")[0].partition("[")[0].lower() for line in (ROOT / "requirements.txt").open()}
    assert pinned <= {line.split()[1].replace("_", "-") for line in lines}
    assert [line for line in lines if line.endswith("not told")] == []


# --- Names ----------------------------------------------------------------------------------------------------------


def named_patterns(resolver: URLResolver | None = None, space: str = "") -> list[tuple[str, URLPattern]]:
    found: list[tuple[str, URLPattern]] = []
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            found += named_patterns(entry, entry.namespace or space)
        else:
            found.append((space, entry))
    return found


def test_a_url_has_the_name_of_its_view() -> None:
    """`rota-show` leads to rota_show; a view may add what it does (my-data to my_data_show), and have a second url."""
    own = [(space, entry) for space, entry in named_patterns() if space in ("trips", "participants")]
    assert own
    served = {
        entry.callback.__name__ for _, entry in own if str(entry.name).replace("-", "_") == entry.callback.__name__
    }
    odd = [
        f"{space}:{entry.name} leads to {entry.callback.__name__}"
        for space, entry in own
        if entry.callback.__name__ not in served
        and not entry.callback.__name__.startswith(str(entry.name).replace("-", "_") + "_")
    ]
    assert odd == []


# --- Scripts --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["bootstrap", "demo", "test", "check", "bench"])
def test_a_script_is_sound_shell(name: str) -> None:
    assert run("bash", "-n", f"script/{name}").stderr == ""


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--port", "none"], 'A port is a number from 1 to 65535, not "none".'),
        (["--port", "70000"], 'A port is a number from 1 to 65535, not "70000".'),
        (["--twice"], 'script/demo knows --once and --port N, not "--twice".'),
    ],
)
def test_the_demo_refuses_what_it_does_not_know_in_one_sentence(arguments: list[str], sentence: str) -> None:
    done = run("script/demo", *arguments)
    assert (done.returncode, done.stdout, done.stderr.strip()) == (1, "", sentence)


def test_a_port_in_use_is_seen() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        assert run(sys.executable, "script/port_is_free.py", port).returncode == 1
        assert run(sys.executable, "script/port_is_free.py", "--until-taken", port).returncode == 0
    assert run(sys.executable, "script/port_is_free.py", port).returncode == 0


def test_a_python_too_old_is_refused_with_what_to_do(tmp_path: Path) -> None:
    old = tmp_path / "python3"
    old.write_text('#!/bin/sh\ncase "$2" in *python_version*) echo 3.9.2;; *) exit 1;; esac\n')
    old.chmod(0o755)
    done = run("script/bootstrap", PYTHON=str(old))
    assert done.returncode == 1
    assert "Python 3.11 or newer is needed (found: 3.9.2)" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_without_root_the_missing_system_packages_are_named_in_one_command(tmp_path: Path) -> None:
    """A Debian without any of the packages, and a user who is not root."""
    for name, answer in {"dpkg-query": "exit 1", "id": "echo 1000"}.items():
        (tmp_path / name).write_text(f"#!/bin/sh\n{answer}\n")
        (tmp_path / name).chmod(0o755)
    done = run("script/bootstrap", PATH=f"{tmp_path}:{os.environ['PATH']}")
    assert done.returncode == 1
    assert "sudo apt-get install --yes --no-install-recommends libpangoft2-1.0-0 libharfbuzz-subset0" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


# --- The frame of the benchmarks ------------------------------------------------------------------------------------


def test_a_benchmark_is_run_printed_and_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bench_sums.py").write_text(
        "def rows():\n"
        '    yield {"name": "a", "ours_ms": 2.0, "rival_ms": 4.0}\n'
        '    yield {"name": "b", "ours_ms": 1.0}\n'
    )
    monkeypatch.setattr(frame, "FOLDER", tmp_path)
    target = tmp_path / "out.json"
    assert frame.main(["sums", "--json", str(target)]) == 0
    rows = json.loads(target.read_text())["rows"]
    assert [row["ratio"] for row in rows] == [0.5, None]
    assert capsys.readouterr().out.splitlines()[0].split() == ["name", "ours_ms", "rival_ms", "ratio"]


def test_a_benchmark_gets_the_options_that_it_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bench_sums.py").write_text(
        "def add_options(parser):\n    parser.add_argument('--rows', nargs='+')\n"
        "def rows(options):\n    return [{'name': name, 'ours_ms': 1.0} for name in options.rows]\n"
    )
    monkeypatch.setattr(frame, "FOLDER", tmp_path)
    assert frame.main(["sums", "--rows", "a", "b"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == ["name", "a", "b"]
    with pytest.raises(SystemExit) as ended:
        frame.main(["sums", "--columns", "a"])
    assert ended.value.code == 2


@pytest.mark.parametrize("arguments", [["no-such"], ["sums", "--json", "/nowhere/out.json"]])
def test_the_frame_refuses_in_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    (tmp_path / "bench_sums.py").write_text("def rows():\n    raise AssertionError('must not run')\n")
    monkeypatch.setattr(frame, "FOLDER", tmp_path)
    assert frame.main(arguments) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
