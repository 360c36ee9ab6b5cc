"""The licence of each package that the site needs, and of each that only tests need: a line each, by name."""

import json
import re
import sys
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def named_in(requirements: Path) -> set[str]:
    """The packages that a file of pins names, without those of the files it rests on."""
    return set(re.findall(r"^[\w.]+[\w.-]*", requirements.read_text(), re.MULTILINE))


def with_all_below(names: set[str]) -> dict[str, Distribution]:
    """These packages and what they need, as far as it is installed: other systems' needs are not."""
    found: dict[str, Distribution] = {}
    waiting = sorted(names)
    while waiting:
        name = re.sub(r"[-_.]+", "-", waiting.pop()).lower()
        if name in found:
            continue
        try:
            found[name] = distribution(name)
        except PackageNotFoundError:
            continue
        needs = [need for need in found[name].requires or () if "extra ==" not in need]
        waiting += [re.match(r"[\w.-]+", need)[0] for need in needs]  # type: ignore[index]
    return found


def licence_of(package: Distribution) -> str:
    """What a package says of itself: its SPDX expression, else its classifiers, else its licence's first line."""
    told = package.metadata
    classes = [one.rpartition(" :: ")[2] for one in told.get_all("Classifier") or () if one.startswith("License ::")]
    files = [file for file in package.files or () if "licen" in file.name.lower()]
    text = (told.get("License") or (files[0].read_text() if files else "")).strip().splitlines()
    return told.get("License-Expression") or " / ".join(classes) or (text[0].strip() if text else "not told")


def lines() -> Iterator[str]:
    """The site's packages, then those of tests, then those of the scripts' tests."""
    site = with_all_below(named_in(ROOT / "requirements.txt"))
    tests = with_all_below(named_in(ROOT / "requirements-dev.txt"))
    for kind, packages in (("site", site), ("tests", {name: tests[name] for name in tests.keys() - site.keys()})):
        for name in sorted(packages):
            yield f"{kind}  {name} {packages[name].version}  {licence_of(packages[name])}"
    lock = json.loads((ROOT / "tests" / "package-lock.json").read_text())
    for path, told in sorted(lock["packages"].items()):
        if path:
            yield f"tests  {path.rpartition('node_modules/')[2]} {told['version']}  {told.get('license', 'not told')}"


if __name__ == "__main__":
    sys.stdout.write("".join(f"{line}\n" for line in lines()))
