"""The wheel works by itself, away from the checkout."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    if importlib.util.find_spec("hatchling") is None:
        told = "hatchling is not installed; it is among the extras for tests"
        pytest.fail(told) if os.environ.get("CI") else pytest.skip(told)
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(ROOT)]
    built = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert built.returncode == 0, built.stdout + built.stderr
    (path,) = out.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory) -> Path:
    """The wheel alone in a folder; what it depends on is that of this interpreter."""
    target = tmp_path_factory.mktemp("installed")
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", str(target)]
    done = subprocess.run([*command, str(wheel)], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return target


def run(installed: Path, folder: Path, *arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("RUNGWRIGHT_", "PYTHONPATH"))}
    return subprocess.run(
        [sys.executable, str(installed / "bin" / "rungwright"), *arguments],
        cwd=folder,
        env={**kept, "PYTHONPATH": str(installed), **settings},
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_it_has_the_rules_and_the_demo_and_nothing_else(wheel):
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    assert "rungwright/_rules/vocabulary.yaml" in names
    assert "rungwright/api/demos/grade_4_harder.json" in names
    assert {f"rungwright/store/migrations/{n}" for n in ("env.py", "script.py.mako", "versions/0001_first.py")} <= set(
        names
    )
    assert {name.split("/")[0].split("-")[0] for name in names} == {"rungwright"}
    assert [n for n in names if "__pycache__" in n or "/tests/" in n] == []
    in_wheel = {n.removeprefix("rungwright/_rules/") for n in names if n.startswith("rungwright/_rules/")}
    assert in_wheel == {p.relative_to(ROOT / "rules").as_posix() for p in (ROOT / "rules").rglob("*") if p.is_file()}


def test_it_runs_from_another_folder(installed, tmp_path):
    doctor = run(installed, tmp_path, "doctor")
    assert doctor.returncode == 0, doctor.stdout + doctor.stderr
    assert str(installed / "rungwright" / "_rules") in "".join(line.strip() for line in doctor.stdout.splitlines())

    answer = run(installed, tmp_path, "recommend", "--demo", "grade_4_harder", "--json")
    assert answer.returncode == 0, answer.stderr
    assert json.loads(answer.stdout)["section"]["label"] == "Kestrel 4B"

    readable = run(installed, tmp_path, "recommend", "--demo", "grade_4_harder")
    assert readable.returncode == 0 and "Kestrel 4B" in readable.stdout
    assert list(tmp_path.iterdir()) == []

    keys = run(installed, tmp_path, "keys", "list", RUNGWRIGHT_DATA=str(tmp_path / "data"))
    assert keys.returncode == 0 and "There are no keys" in keys.stdout, keys.stderr
    assert (tmp_path / "data" / "rungwright.sqlite3").exists()
