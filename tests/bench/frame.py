"""Run one benchmark: tests/bench/bench_<name>.py gives `rows()`, this prints a table and writes the JSON."""

import argparse
import importlib.util
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

FOLDER = Path(__file__).resolve().parent
Row = dict[str, Any]


def names() -> list[str]:
    """The names of all benchmarks."""
    return sorted(path.stem.removeprefix("bench_") for path in FOLDER.glob("bench_*.py"))


def load(name: str) -> ModuleType:
    """The module of a benchmark."""
    spec = importlib.util.spec_from_file_location(f"bench_{name}", FOLDER / f"bench_{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def rows_of(module: ModuleType, arguments: Sequence[str]) -> list[Row]:
    """Run a benchmark, one that has options with these; every row gets its ratio, ours / rival (None: no rival)."""
    parser = argparse.ArgumentParser(prog=f"script/bench {module.__name__.removeprefix('bench_')}")
    add_options = getattr(module, "add_options", None)
    if add_options is not None:
        add_options(parser)
    options = parser.parse_args(arguments)
    rows: list[Row] = []
    for row in module.rows(options) if add_options is not None else module.rows():
        rival_ms = row.get("rival_ms")
        row.setdefault("ratio", row["ours_ms"] / rival_ms if rival_ms else None)
        rows.append(row)
    return rows


def table(rows: Sequence[Row]) -> str:
    """The rows as aligned text; columns in the order in which they first appear."""
    columns = list(dict.fromkeys(key for row in rows for key in row))
    cells = [columns, *([_shown(row.get(column)) for column in columns] for row in rows)]
    widths = [max(len(line[index]) for line in cells) for index in range(len(columns))]
    return "\n".join("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) for line in cells)


def _shown(value: Any) -> str:
    if value is None:
        return "-"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def main(arguments: Sequence[str]) -> int:
    """0 with a result, 2 for a name nobody wrote, an option it does not have or a file that cannot be written."""
    parser = argparse.ArgumentParser(prog="script/bench", description=__doc__, add_help=False)
    parser.add_argument("name", nargs="?", help=f"one of: {', '.join(names()) or 'none written yet'}")
    parser.add_argument("--json", type=Path, metavar="FILE")
    options, others = parser.parse_known_args(arguments)
    if options.name is None:
        print("\n".join(names()))
        return 0
    if options.name not in names():
        print(f"There is no benchmark {options.name!r}; there are: {', '.join(names()) or 'none'}.", file=sys.stderr)
        return 2
    if options.json and not os.access(options.json.resolve().parent, os.W_OK):
        print(f"No permission to write {options.json}, or no such folder.", file=sys.stderr)
        return 2
    rows = rows_of(load(options.name), others)
    print(table(rows))
    if options.json:
        options.json.write_text(json.dumps({"rows": rows}, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
