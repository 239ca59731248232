"""Rosters in the OneRoster CSV format: counts come in, people stay out."""

from __future__ import annotations

import io
import json
import os
import stat
import zipfile
from pathlib import Path

import pytest

from rungwright.store import oneroster
from rungwright.store.backup import backup
from rungwright.store.oneroster import BadRoster, read_roster

# Columns in the order of the OneRoster 1.1 CSV tables (1EdTech); the people and the school are invented.
CLASS_HEADER = (
    "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,classType,location,schoolSourcedId,"
    "termSourcedIds,subjects,subjectCodes,periods"
)
ENROLLMENT_HEADER = (
    "sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,userSourcedId,role,primary,beginDate,endDate"
)


def a_class(id, title, grades, status=""):
    return f'{id},{status},,"{title}","{grades}",c1,,scheduled,,s1,"t1",,,'


def enrolled(class_id, user, role="student", status=""):
    return f"e-{class_id}-{user},{status},,{class_id},s1,{user},{role},,,"


def files(classes, enrollments):
    return {
        "classes.csv": "\r\n".join([CLASS_HEADER, *classes, ""]),
        "enrollments.csv": "\r\n".join([ENROLLMENT_HEADER, *enrollments, ""]),
    }


@pytest.fixture
def school():
    classes = [
        a_class("k4a", "Kestrel 4A", "04"),
        a_class("k34", "Kestrel 3, 4", "03,04", "active"),
        a_class("old", "Kestrel gone", "05", "tobedeleted"),
        a_class("odd", "Kestrel ungraded", ""),
        a_class("none", "Kestrel empty", "02"),
        a_class("ug", "Kestrel all", "UG"),
    ]
    enrollments = [enrolled("k4a", f"pupil-{i}") for i in range(25)]
    enrollments += [enrolled("k4a", "pupil-0"), enrolled("k4a", "adult-1", "teacher")]
    enrollments += [enrolled("k4a", "pupil-99", status="tobedeleted")]
    enrollments += [enrolled(c, f"pupil-{c}-{i}") for c in ("k34", "odd", "ug") for i in range(18)]
    return files(classes, enrollments)


def zipped(school, **more):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in {**school, **more}.items():
            archive.writestr(name, text)
    return packed.getvalue()


def in_folder(school, folder: Path) -> Path:
    for name, text in school.items():
        (folder / name).write_bytes(text.encode())
    return folder


def test_students_are_counted_once_and_only_those_who_are_there(school):
    roster = read_roster(zipped(school))
    assert [(c.title, c.grades, c.students) for c in roster.classes] == [
        ("Kestrel 4A", ("04",), 25),
        ("Kestrel 3, 4", ("03", "04"), 18),
        ("Kestrel ungraded", (), 18),
    ]
    assert [(s.file, s.line, s.why) for s in roster.skipped] == [
        ("classes.csv", 6, "no students are enrolled"),
        ("classes.csv", 7, "the grade 'UG' is not one of KG and 01 to 12"),
    ]
    assert roster.passed_over == {
        "enrollments.csv: not a student": 1,
        "enrollments.csv: to be deleted": 1,
        "classes.csv: to be deleted": 1,
    }
    assert roster.rows == {"classes.csv": 6, "enrollments.csv": 82}


def test_a_folder_a_zip_and_a_folder_in_a_zip_say_the_same(school, tmp_path):
    one = read_roster(in_folder(school, tmp_path))
    inside = {f"export/{name}": text for name, text in school.items()}
    assert one == read_roster(zipped(school)) == read_roster(zipped(inside))


def test_nobody_is_in_what_is_returned(school):
    assert "pupil" not in repr(read_roster(zipped(school)))


def test_only_the_two_files_are_opened(school, tmp_path, monkeypatch):
    people = in_folder({**school, "users.csv": "x", "demographics.csv": "x"}, tmp_path)
    for name in ("users.csv", "demographics.csv"):
        os.chmod(people / name, 0)
    opened = []
    plain = Path.open
    monkeypatch.setattr(Path, "open", lambda path, *a, **k: opened.append(path.name) or plain(path, *a, **k))
    read_roster(people)
    assert sorted(opened) == ["classes.csv", "enrollments.csv"]
    asked, packed = [], zipped({**school, "users.csv": "x"})
    in_zip = zipfile.ZipFile.open
    monkeypatch.setattr(
        zipfile.ZipFile, "open", lambda z, m, *a, **k: asked.append(m.filename) or in_zip(z, m, *a, **k)
    )
    read_roster(packed)
    assert sorted(asked) == ["classes.csv", "enrollments.csv"]


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("KG", ["KG"]), ("K", ["KG"]), ("3", ["03"]), ("03,04", ["03", "04"]), ("K-2", ["KG", "01", "02"]),
        ("05,03", ["03", "05"]), (" 4 ", ["04"]), ("", []), ("12", ["12"]),
    ],
)  # fmt: skip
def test_grades_as_schools_write_them(written, read):
    roster = read_roster(zipped(files([a_class("a", "A", written)], [enrolled("a", "u")])))
    assert list(roster.classes[0].grades) == read


@pytest.mark.parametrize("written", ["PK", "13", "5-3", "1-2-3", "four", "-"])
def test_grades_that_are_none(written):
    roster = read_roster(zipped(files([a_class("a", "A", written)], [enrolled("a", "u")])))
    assert roster.classes == [] and roster.skipped[0].line == 2


def test_a_byte_order_mark_quotes_over_lines_and_more_columns(school):
    header = CLASS_HEADER + ",metadata.room"
    text = "\ufeff" + header + "\r\n" + a_class("k4a", 'Kestrel ""A""\r\nupper', "04") + ",7\r\nshort,row\r\n"
    roster = read_roster(zipped({**school, "classes.csv": text}))
    assert roster.classes[0].title == 'Kestrel "A"\r\nupper'
    assert [(s.line, s.why) for s in roster.skipped] == [(4, "it has 2 fields, the header 15")]


BAD = {
    "no zip": (lambda s: b"nothing", "not a zip"),
    "cut short": (lambda s: zipped(s)[:-40], "not a zip"),
    "no classes": (lambda s: zipped({"enrollments.csv": s["enrollments.csv"]}), "no file classes.csv"),
    "way out": (lambda s: zipped({**s, "../classes.csv": "x"}), "leads out of its folder"),
    "absolute": (lambda s: zipped({**s, "/etc/x": "x"}), "leads out of its folder"),
    "backslash": (lambda s: zipped({**s, "a\\..\\classes.txt": "x"}), "leads out of its folder"),
    "twice": (lambda s: zipped({**s, "more/classes.csv": "x"}), "stands twice"),
    "column": (lambda s: zipped({**s, "classes.csv": "sourcedId,Title\n"}), "classes.csv: line 1: the column 'status'"),
    "empty": (lambda s: zipped({**s, "classes.csv": ""}), "classes.csv: line 1"),
    "latin": (lambda s: zipped({**s, "classes.csv": (CLASS_HEADER + "\né").encode("latin-1")}), "not UTF-8"),
    "quotes": (lambda s: zipped({**s, "classes.csv": CLASS_HEADER + '\n"a"b,'}), "classes.csv: line 2"),
    "field": (lambda s: zipped({**s, "classes.csv": CLASS_HEADER + "\n" + "x" * 20_000}), "classes.csv: line 2"),
    "many": (lambda s: zipped({**s, **{f"f{i}.csv": "" for i in range(300)}}), "302 files"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_roster_is_refused(school, name):
    spoil, told = BAD[name]
    with pytest.raises(BadRoster, match=told.replace("(", r"\(")):
        read_roster(spoil(school))


def test_a_link_in_an_archive_or_a_folder_is_refused(school, tmp_path):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        link = zipfile.ZipInfo("classes.csv")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
        archive.writestr("enrollments.csv", school["enrollments.csv"])
    with pytest.raises(BadRoster, match="is a link"):
        read_roster(packed.getvalue())
    in_folder(school, tmp_path)
    (tmp_path / "classes.csv").rename(tmp_path / "real.csv")
    (tmp_path / "classes.csv").symlink_to(tmp_path / "real.csv")
    with pytest.raises(BadRoster, match=r"no file classes\.csv"):
        read_roster(tmp_path)


@pytest.mark.parametrize("honest", [True, False])
def test_a_small_archive_that_unpacks_to_very_much_is_refused(school, monkeypatch, honest):
    monkeypatch.setattr(oneroster, "MOST_BYTES", 100_000)
    bomb = zipped({**school, "classes.csv": CLASS_HEADER + "\n" + "\n" * 5_000_000})
    assert len(bomb) < 20_000
    if not honest:
        # The size that the archive says of itself, in its directory, made small.
        size = (len(CLASS_HEADER) + 1 + 5_000_000).to_bytes(4, "little")
        assert bomb.count(size) >= 1
        bomb = bomb.replace(size, (1000).to_bytes(4, "little"))
    with pytest.raises(BadRoster):
        read_roster(bomb)


def sent(client, body, query=""):
    return client.post(f"/v1/rosters{query}", content=body, headers={"content-type": "application/zip"})


def test_sections_are_made_once_and_follow_the_roster(client, school, store):
    dry = sent(client, zipped(school), "?dry_run=true").json()
    assert [c["fate"] for c in dry["classes"]] == ["made", "made"] and dry["dry_run"] is True
    assert client.get("/v1/sections").json()["items"] == []

    first = sent(client, zipped(school)).json()
    assert [(c["label"], c["students"], c["grades"], c["fate"]) for c in first["classes"]] == [
        ("Kestrel 4A", 25, ["04"], "made"),
        ("Kestrel 3, 4", 18, ["03", "04"], "made"),
    ]
    assert (first["rows"], first["skipped"][-1]["why"]) == (
        {"classes.csv": 6, "enrollments.csv": 82},
        "it has no grade; say one for classes without",
    )
    id = first["classes"][0]["section_id"]
    mine = client.get(f"/v1/sections/{id}").json()["section"]
    assert mine["students"] == 25 and mine["supports"] is None
    client.put(f"/v1/sections/{id}", json={"section": {**mine, "group_size": 4}}, headers={"if-match": "*"})

    again = sent(client, zipped(school)).json()
    assert [c["fate"] for c in again["classes"]] == ["unchanged", "unchanged"]
    more = {**school, "enrollments.csv": school["enrollments.csv"] + enrolled("k4a", "pupil-77") + "\r\n"}
    changed = sent(client, zipped(more), "?grade=6&minutes=50").json()
    assert [c["fate"] for c in changed["classes"]] == ["changed", "unchanged", "made"]
    now = client.get(f"/v1/sections/{id}").json()["section"]
    assert (now["students"], now["group_size"]) == (26, 4)
    third = client.get(f"/v1/sections/{changed['classes'][2]['section_id']}").json()["section"]
    assert (third["grades"], third["sessions"]) == (["06"], [{"minutes": 50}])
    saved = json.dumps(backup(store))
    assert "pupil" not in saved and "k4a" not in saved, "ids are dropped"


def test_a_roster_that_is_wrong_is_told_and_makes_nothing(client, school):
    response = sent(client, b"nothing")
    assert response.status_code == 422 and "not a zip file" in response.json()["detail"]
    assert sent(client, zipped(school), "?grade=13").status_code == 400
    wrong = client.post("/v1/rosters", content=zipped(school), headers={"content-type": "text/csv"})
    assert wrong.status_code == 415
    assert client.get("/v1/sections").json()["items"] == []


def test_what_a_coach_reads_in_belongs_to_the_teacher_who_takes_it(with_key, school):
    coach, teacher, other = (with_key(role, "Ridge School") for role in ("coach", "teacher", "teacher"))
    id = sent(coach, zipped(school)).json()["classes"][0]["section_id"]
    assert coach.get(f"/v1/sections/{id}").json()["mine"] is False
    section = teacher.get(f"/v1/sections/{id}").json()["section"]
    needs = {**section, "supports": {"reading": 1}}
    teacher.put(f"/v1/sections/{id}", json={"section": needs}, headers={"if-match": '"1"'})
    assert teacher.get(f"/v1/sections/{id}").json()["section"]["supports"] == {"reading": 1}
    assert teacher.get(f"/v1/sections/{id}").json()["mine"] is True
    assert other.put(f"/v1/sections/{id}", json={"section": section}, headers={"if-match": "*"}).status_code == 403
    skipped = sent(other, zipped(school)).json()["skipped"]
    assert any("another teacher" in s["why"] for s in skipped)
