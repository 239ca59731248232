"""`rungwright check` and `rungwright calibrate`."""

from __future__ import annotations

import json

import pytest

from rungwright.checks.kinds import CALIBRATIONS, CHECKS
from tests.cli.test_program import program

SNOW = ("check", "snow", "--mass", "370g", "--width", "150mm", "--depth", "150 mm")


def options(example: dict) -> list[str]:
    out = []
    for name, value in example.items():
        for one in value if isinstance(value, list) else [value]:
            out += [f"--{name.replace('_', '-')}", str(one)]
    return out


@pytest.mark.parametrize(
    ("group", "kind"), [("check", k) for k in CHECKS.values()] + [("calibrate", k) for k in CALIBRATIONS.values()]
)
def test_every_kind_answers_by_options_and_from_a_file_alike(run, tmp_path, group, kind):
    by_options = run(group, kind.name, *options(dict(kind.example)), "--json")
    assert by_options.exit_code == 0, by_options.stderr
    (tmp_path / "asked.json").write_text(json.dumps(dict(kind.example)), encoding="utf-8")
    from_file = run(group, kind.name, str(tmp_path / "asked.json"), "--json")
    assert by_options.stdout == from_file.stdout
    assert json.loads(by_options.stdout)["kind"] == kind.name
    readable = run(group, kind.name, *options(dict(kind.example)))
    assert readable.exit_code == 0 and "Inputs used" in readable.stdout and "Stands on" in readable.stdout


def test_help_lists_kinds_and_their_inputs(run):
    listed = run("check", "--help").stdout
    assert all(f"  {name}" in listed for name in CHECKS)
    assert all(f"  {name}" in run("calibrate", "--help").stdout for name in CALIBRATIONS)
    told = run("check", "wind", "--help").stdout
    assert "--speed" in told and "usually 1.5 to 5" in told


def test_a_verdict_its_numbers_and_its_sources(run):
    shown = " ".join(run(*SNOW, "--wanted-depth", "10cm").stdout.split())
    assert shown.startswith("Clear. Spread over the roof, the weight presses like 160 to 330 mm (6.5 to 13 in)")
    for part in ("pressure of the weight: 161 Pa (3.37 psf)", "kind of snow: fresh (usual)", "[1] ", "Not looked at"):
        assert part in shown


def test_options_go_over_a_file_and_standard_input_is_read(run):
    given = json.dumps({"mass": "1 kg", "width": "150 mm", "depth": "150 mm"})
    answer = json.loads(run("check", "snow", "-", "--mass", "13 oz", "--json", given=given).stdout)
    assert next(i["text"] for i in answer["inputs"] if i["name"] == "mass") == "369 g (13 oz)"
    yaml = run("check", "heat", "-", given="layers: [felt 5 mm, card 1 mm]\nwater: 250 ml\narea: 350 cm2\n")
    assert yaml.exit_code == 0, yaml.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((*SNOW[:3], "12mm", *SNOW[4:]), "--mass: '12mm' is not a mass; write it such as 370 g or 13 oz\n"),
        (SNOW[:6], "--depth: this field is required\n"),
        ((*SNOW[:-1], "150"), "--depth: say the unit too: a length, such as 150 mm or 6 in\n"),
        (("check", "rain", "--strokes", "ten"), "--strokes: must be a whole number\n"),
        (("check", "rain", "--paper-carries", "maybe"), "--paper-carries: must be true or false\n"),
        (("check", "member", "--length", "1m", "--stiffness", "1GPa"), "--width: is needed for a rectangle\n"),
        (
            ("check", "heat", "--layers", "felt 5mm", "--layers", "silk 1mm", "--water", "1l", "--area", "300cm2"),
            "--layers number 2: must be a material",
        ),
    ],
)
def test_what_cannot_be_used_is_told_by_its_option(run, arguments, told):
    result = run(*arguments)
    assert result.exit_code == 2
    assert result.stderr.startswith(told) and result.stdout == ""


def test_what_is_wrong_in_a_file_is_told_with_its_pointer(run):
    result = run("check", "snow", "-", given='{"mass": "370 g", "width": "150 mm", "dept": "150 mm"}')
    assert result.exit_code == 2
    assert "standard input: /dept: 'dept' is not a known field; did you mean 'depth'?" in result.stderr
    result = run("check", "member", "-", given='{"length": "1 m", "stiffness": "1 GPa"}')
    assert result.stderr == "standard input: /width: is needed for a rectangle\n"
    assert run("check", "snow", "-", given="[]").stderr == "standard input: must be an object\n"


def test_yes_and_no_are_read(run):
    wet = run("check", "load", "--mass", "370g", "--sticks", "0", "--sheets", "8", "--wet", "yes", "--json")
    assert json.loads(wet.stdout)["forms"][0]["bears"]["value"] < 1000
    forms = run("check", "load", "--mass", "370g", "--wet", "no").stdout
    assert "Forms beside each other" in forms and "Lacks" in forms


def test_a_calibration_says_where_to_use_it(run):
    shown = run("calibrate", "friction", "--angle", "20 deg").stdout
    assert 'rungwright check wind --friction "0.36"' in shown
    assert (
        run(
            "check",
            "wind",
            "--mass",
            "50g",
            "--width",
            "6in",
            "--depth",
            "6in",
            "--height",
            "4in",
            "--friction",
            "0.36",
        ).exit_code
        == 0
    )


@pytest.mark.parametrize("kind", [CHECKS["heat"], CHECKS["member"]])
def test_any_terminal_can_show_it(kind):
    done = program("check", kind.name, *options(dict(kind.example)), PYTHONIOENCODING="ascii")
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"?" not in done.stdout


def test_an_unknown_kind(run):
    result = run("check", "earthquake")
    assert result.exit_code == 2 and "earthquake" in result.stderr
