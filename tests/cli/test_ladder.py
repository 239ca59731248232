"""`rungwright ladder` with files, and with ladders that are kept."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from rungwright.domain.keeping import SectionDraft
from rungwright.domain.section import Section
from rungwright.settings import Settings, open_store
from rungwright.store import ONE_PERSON, Sections

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "ladders"
LADDER, SECTIONS = str(FOLDER / "ladder.json"), str(FOLDER / "sections.json")


@pytest.fixture
def edits(tmp_path):
    def edits(*made: dict) -> str:
        path = tmp_path / f"edits{len(list(tmp_path.iterdir()))}.json"
        path.write_text(json.dumps(made), encoding="utf-8")
        return str(path)

    return edits


def words(text: str) -> str:
    return " ".join(text.split())


def test_the_rungs_are_shown_as_steps_with_reasons(run):
    result = run("ladder", "show", LADDER)
    assert result.exit_code == 0, result.output
    told = words(result.stdout)
    assert "1. First refuge (grades K and 1)" in told
    assert "Make the whole roof work." in told and "(3-5-ETS1-3)" in told
    assert "Why: Each group has 12 stiff pieces now. With 8 stiff pieces, it must choose a form" in told
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_draft_is_written_whole_and_read_again(run, tmp_path):
    path = tmp_path / "ladder.json"
    drafted = run("ladder", "draft", "--grades", "3-5", "--to", str(path), "--json")
    assert drafted.exit_code == 0, drafted.output
    assert json.loads(path.read_text("utf-8")) == json.loads(drafted.stdout)["ladder"]
    assert [p.name for p in tmp_path.iterdir()] == ["ladder.json"]
    checked = run("ladder", "check", str(path))
    assert checked.exit_code == 0 and "Nothing to mend." in checked.stdout


def test_edits_are_made_and_kept(run, tmp_path, edits):
    to = tmp_path / "edited.json"
    made = run(
        "ladder", "check", LADDER, "--edits", edits({"do": "rename", "rung": "r2", "name": "Sides"}), "--to", str(to)
    )
    assert made.exit_code == 0, made.output
    told = run("ladder", "compare", LADDER, str(to))
    assert told.stdout.strip() == "- Two spots: name: Sides instead of Two spots."
    assert run("ladder", "compare", LADDER, LADDER).stdout.strip() == "The two ladders are alike."


def test_an_edit_that_is_refused_says_why_and_writes_nothing(run, tmp_path, edits):
    to = tmp_path / "edited.json"
    result = run("ladder", "check", LADDER, "--edits", edits({"do": "remove", "rung": "r9"}), "--to", str(to))
    assert result.exit_code == 2 and "/0/rung: 'r9' is not a known rung of this ladder" in words(result.stderr)
    assert not to.exists()


def test_what_must_be_mended_ends_with_a_failure(run, edits):
    change = {"do": "set", "rung": "r1", "settings": {"load_place": "tester"}}
    result = run("ladder", "check", LADDER, "--edits", edits(change))
    assert result.exit_code == 1 and "To mend before it is published" in result.stdout


def test_sections_are_placed(run):
    result = run("ladder", "place", LADDER, SECTIONS)
    assert result.exit_code == 0, result.output
    told = words(result.stdout)
    assert "Kestrel 4B (grade 4): " in told and "One rung up: " in told
    assert "three sections together" in told and "Week of 2026-11-30" in told


def test_two_edits_are_merged_and_a_clash_ends_with_a_failure(run, tmp_path, edits):
    files = []
    for i, name in enumerate(("Sides", "Walls")):
        files.append(str(tmp_path / f"coach{i}.json"))
        changes = edits({"do": "rename", "rung": "r2", "name": name})
        assert run("ladder", "check", LADDER, "--edits", changes, "--to", files[-1]).exit_code == 0
    clean = run("ladder", "merge", LADDER, files[0], LADDER)
    assert clean.exit_code == 0 and "Nothing clashes." in clean.stdout
    clash = run("ladder", "merge", LADDER, *files)
    assert clash.exit_code == 1
    assert "one says Sides, the other Walls; it was Two spots" in words(clash.stdout)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["draft"], "give --grades, such as --grades K-12, or a request file"),
        (["draft", "--grades", "3-5-7"], "give the lowest and the highest grade"),
        (["draft", "--grades", "3-13"], "'13' is not a grade"),
        (["draft", "--grades", "3-5", "--challenge", "sheltr"], "did you mean 'shelter'"),
        (["show", SECTIONS], "must be an object"),
        (["show", "nowhere.json"], "nowhere.json: cannot be read"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(arguments, told, run):
    result = run("ladder", *arguments)
    assert result.exit_code == 2 and told in words(result.stderr), result.stderr


def test_a_ladder_is_printed_as_a_chart_and_a_hand_out(run, tmp_path):
    made = run("ladder", "print", LADDER, "--to", str(tmp_path / "out"), "--paper", "a4")
    assert made.exit_code == 0, made.output
    files = sorted((tmp_path / "out").iterdir())
    assert [file.name for file in files] == ["hand_out.pdf", "wall_chart.pdf"]
    assert all(file.read_bytes().startswith(b"%PDF") for file in files)
    again = run("ladder", "print", LADDER, "--to", str(tmp_path / "again"), "--paper", "a4")
    assert again.exit_code == 0
    assert [(tmp_path / "again" / file.name).read_bytes() for file in files] == [file.read_bytes() for file in files]


def test_a_paper_that_is_not_known_is_told_and_nothing_is_written(run, tmp_path):
    wrong = run("ladder", "print", LADDER, "--to", str(tmp_path / "out"), "--paper", "a5")
    assert wrong.exit_code == 2 and "did you mean 'a4'" in wrong.stderr
    assert not (tmp_path / "out").exists()


def kept_ids(run) -> list[str]:
    return re.findall(r"^([0-9a-f]{22})  ", run("ladder", "list").stdout, re.M)


@pytest.fixture
def kept(run) -> str:
    """Id of the example's ladder, kept."""
    assert run("ladder", "keep", LADDER).exit_code == 0
    (id,) = kept_ids(run)
    return id


def test_a_ladder_is_kept_listed_shown_and_comes_out_as_it_went_in(run, kept, tmp_path):
    assert "6 rungs. Draft, not published yet. Kept as state 1." in words(run("ladder", "list").stdout)
    assert run("ladder", "show", kept).stdout == run("ladder", "show", LADDER).stdout + "\nKept as state 1.\n"
    shared = tmp_path / "shared.json"
    assert run("ladder", "show", kept, "--to", str(shared)).exit_code == 0
    assert shared.read_bytes() == Path(LADDER).read_bytes()
    assert "There is none yet" not in run("ladder", "list").stdout
    assert "None was put away" in run("ladder", "list", "--put-away").stdout


def test_a_published_version_stays_and_a_fork_starts_from_it(run, kept, tmp_path, edits):
    done = run("ladder", "publish", kept, "--by", "Coaches of Kestrel Ridge", "--on", "2026-11-20")
    assert "Version 1, published on 2026-11-20 by Coaches of Kestrel Ridge." in words(done.stdout)
    again = run("ladder", "publish", kept, "--by", "Coaches of Kestrel Ridge")
    assert again.exit_code == 2 and "version 1 is published and never changes" in words(again.stderr)
    edited = tmp_path / "edited.json"
    changes = edits({"do": "revise"}, {"do": "rename", "rung": "r2", "name": "Sides"})
    assert run("ladder", "check", kept, "--edits", changes, "--to", str(edited)).exit_code == 0
    assert run("ladder", "keep", str(edited), "--into", kept).exit_code == 0
    told = run("ladder", "compare", kept)
    assert told.stdout.strip() == "- Two spots: name: Sides instead of Two spots."
    assert run("ladder", "compare", f"{kept}:1", kept).stdout == told.stdout
    assert run("ladder", "fork", f"{kept}:1", "--name", "Our own").exit_code == 0
    (fork,) = set(kept_ids(run)) - {kept}
    named = run("ladder", "compare", f"{kept}:1", fork).stdout.strip()
    assert named == "- Name: Our own instead of The refuge on Kestrel Ridge."


def test_two_edits_are_put_together_and_a_clash_is_chosen(run, kept, tmp_path, edits):
    files = []
    for i, (name, more) in enumerate((("Sides", "First"), ("Walls", "Begin"))):
        files.append(str(tmp_path / f"coach{i}.json"))
        changes = edits(
            {"do": "rename", "rung": "r2", "name": name}, {"do": "rename", "rung": f"r{3 + i}", "name": more}
        )
        assert run("ladder", "check", kept, "--edits", changes, "--to", files[-1]).exit_code == 0
    assert "Kept as state 2." in run("ladder", "keep", files[0], "--into", kept, "--seen", "1").stdout
    late = run("ladder", "keep", files[1], "--into", kept, "--seen", "1")
    assert late.exit_code == 1 and "--choose /rungs/r2/name=kept" in late.stdout
    assert "one says Sides, the other Walls; it was Two spots" in words(late.stdout)
    assert "state 2" in run("ladder", "list").stdout, "nothing was kept"
    chosen = run("ladder", "keep", files[1], "--into", kept, "--seen", "1", "--choose", "/rungs/r2/name=file")
    assert chosen.exit_code == 0, chosen.output
    told = words(run("ladder", "show", kept).stdout)
    assert "2. Walls" in told and "3. First" in told and "4. Begin" in told
    late = run("ladder", "publish", kept, "--by", "Coaches of Kestrel Ridge", "--seen", "2")
    assert late.exit_code == 2 and "it was changed meanwhile" in late.stderr


def test_sections_that_are_kept_are_placed_on_a_kept_ladder(run, kept, tmp_path):
    assert "There is no section of these grades yet." in run("ladder", "place", kept).stdout
    store = open_store(Settings.from_env())
    with store.writing() as session:
        for data in json.loads(Path(SECTIONS).read_text("utf-8")):
            Sections(session, ONE_PERSON).add(SectionDraft(section=Section.model_validate(data["section"])))
    store.close()
    told = run("ladder", "place", kept)
    assert told.exit_code == 0, told.output
    assert "Kestrel 4B (grade 4): " in told.stdout and "Kit of all sections" in told.stdout
    printed = run("ladder", "print", kept, "--to", str(tmp_path / "out"))
    assert printed.exit_code == 0 and len(list((tmp_path / "out").iterdir())) == 2


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["show", "0" * 22], "There is no ladder"),
        (["show", "KEPT:7"], "There is no published version '7' here"),
        (["publish", "0" * 22, "--by", "x"], "There is no ladder"),
        (["publish", "KEPT", "--by", "x", "--on", "soon"], "/edits/0/on"),
        (["fork", LADDER, "--name", "x"], "is no id of a ladder that is kept"),
        (["compare", LADDER], "give the second ladder too"),
        (["compare", "KEPT"], "no published version before this one"),
        (["place", LADDER], "give the sections in a file"),
        (["keep", SECTIONS], "must be an object"),
        (["keep", LADDER, "--into", "0" * 22], "There is no ladder"),
        (["keep", LADDER, "--into", "KEPT", "--seen", "9"], "has states 1 to 1"),
        (["keep", LADDER, "--into", "KEPT", "--choose", "name"], "PLACE=kept or PLACE=file"),
        (["keep", LADDER, "--seen", "1"], "need --into"),
    ],
)
def test_what_cannot_be_done_with_a_kept_ladder_is_told(arguments, told, run, kept):
    result = run("ladder", *(text.replace("KEPT", kept) for text in arguments))
    assert result.exit_code == 2 and told in words(result.stderr), result.output
    assert kept_ids(run) == [kept]
