"""Dependencies point one way."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "service" / "rungwright"

# Each part and what it may import of this package, besides itself.
MAY_IMPORT = {
    "domain": set(),
    "engine": {"domain"},
    "rulebase": {"domain", "engine"},
    "measure": {"domain"},
    "checks": {"domain", "measure"},
    "readiness": {"domain", "measure.columns"},
    "recommend": {"domain", "engine", "rulebase", "measure", "readiness"},
    "sheets": {"domain", "rulebase", "measure.rotation", "recommend"},
    "ladders": {"domain", "rulebase", "measure", "readiness", "recommend"},
    "store": {"domain", "measure", "recommend", ""},
    "pictures": {"domain"},
    "simulate": {"domain", "measure", "rulebase", "readiness", "recommend", "pictures"},
    "settings": {"domain", "rulebase", "store"},
    "api": {"domain", "engine", "rulebase", "checks", "recommend", "sheets", "ladders", "store", "settings", ""},
    "web": {"domain", "rulebase", "measure", "checks", "recommend", "sheets", "pictures", "store", "settings", "api"},
    "cli": {
        "domain",
        "engine",
        "rulebase",
        "checks",
        "recommend",
        "sheets",
        "ladders",
        "store",
        "simulate",
        "settings",
        "api",
        "web",
        "",
    },
}
"""The empty name is the package itself: its version."""


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name, below the package, of each import of a file; those inside functions too."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute"
            names = [f"{node.module}.{a.name}" if node.module == "rungwright" else node.module for a in node.names]
        else:
            continue
        for name in names:
            if name.split(".")[0] == "rungwright":
                yield node.lineno, name.removeprefix("rungwright").removeprefix(".")


def parts() -> list[str]:
    found = [p.stem if p.suffix == ".py" else p.name for p in PACKAGE.iterdir() if p.suffix == ".py" or p.is_dir()]
    return sorted(n for n in found if n not in ("__init__", "__pycache__", "_rules"))


@pytest.mark.parametrize("part", parts())
def test_a_part_imports_only_what_it_stands_on(part):
    assert part in MAY_IMPORT, f"say in MAY_IMPORT what {part} may import"
    single = PACKAGE / f"{part}.py"
    wrong = [
        f"{path.relative_to(PACKAGE)}:{line} imports {name or 'rungwright'}"
        for path in ([single] if single.is_file() else sorted((PACKAGE / part).rglob("*.py")))
        for line, name in imported(path)
        if not allowed(part, name)
    ]
    assert not wrong


def allowed(part: str, name: str) -> bool:
    if name in ("", "__version__"):
        return "" in MAY_IMPORT[part]
    return any(name == base or name.startswith(base + ".") for base in (part, *MAY_IMPORT[part]) if base)


def test_nothing_goes_in_a_circle():
    seen: set[str] = set()
    for part, below in MAY_IMPORT.items():
        assert {b.split(".")[0] for b in below if b} <= seen, part
        seen.add(part)
