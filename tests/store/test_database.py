"""Transactions, versions, migrations, and databases that cannot be used."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import event, inspect, text

from rungwright.api.app import create_app
from rungwright.api.demo import demo
from rungwright.domain.keeping import CupboardDraft, LessonDraft, LessonState, SectionDraft
from rungwright.domain.section import Section, Stock
from rungwright.settings import Settings
from rungwright.store import (
    ONE_PERSON,
    Cupboards,
    Lessons,
    Sections,
    Stale,
    Store,
    StoreUnavailable,
    WrongVersion,
    prepare,
)
from rungwright.store.ids import new_id
from rungwright.store.tables import Base, WorkspaceRow
from rungwright.store.upgrade import differences, migrate
from tests.api.in_process import client_of
from tests.store.conftest import made

WRITERS = 8


def cupboard(store: Store, paper: float) -> str:
    with store.writing() as session:
        draft = CupboardDraft(label="x", materials=[Stock(material="copy_paper", quantity=paper)])
        return Cupboards(session, ONE_PERSON).add(draft).id


def paper_in(store: Store, id: str) -> float:
    with store.reading() as session:
        return Cupboards(session, ONE_PERSON).find(id).materials[0].quantity


def test_eight_writers_that_read_and_write_lose_nothing(store):
    id = cupboard(store, 0)

    def add_one(_: int) -> None:
        with store.writing() as session:
            cupboards = Cupboards(session, ONE_PERSON)
            cupboards.take(id, [Stock(material="copy_paper", quantity=1)], 1)

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(add_one, range(200)))
    assert paper_in(store, id) == 200


def test_eight_writers_with_versions_lose_nothing(store):
    """As over HTTP: read in one transaction, write in another, try again where another was quicker."""
    id, late = cupboard(store, 0), []

    def add_one(_: int) -> None:
        while True:
            with store.reading() as session:
                row = Cupboards(session, ONE_PERSON).find(id)
                version, paper = row.version, row.materials[0].quantity
            draft = CupboardDraft(label="x", materials=[Stock(material="copy_paper", quantity=paper + 1)])
            try:
                with store.writing() as session:
                    Cupboards(session, ONE_PERSON).change(id, {version}, draft)
                return
            except Stale:
                late.append(version)

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(add_one, range(80)))
    assert paper_in(store, id) == 80
    assert late, "writers did meet"


def test_lessons_taught_at_the_same_time_each_take_their_own(store, rules, section):
    id = cupboard(store, 100)
    with store.writing() as session:
        kept = Sections(session, ONE_PERSON).add(
            SectionDraft(section=Section.model_validate(section), cupboard_id=id)
        ).id  # fmt: skip

    def teach(_: int) -> None:
        draft = LessonDraft(section_id=kept, on=datetime(2026, 11, 25).date(), materials=[], state=LessonState.TAUGHT)
        with store.writing() as session:
            Lessons(session, ONE_PERSON).add(draft, [Stock(material="copy_paper", quantity=2)], rules.base.materials)

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(teach, range(24)))
    assert paper_in(store, id) == 100 - 48


def test_the_same_create_at_the_same_time_makes_one(app, section):
    def create(_: int):
        return client_of(app).post("/v1/sections", json={"section": section}, headers={"idempotency-key": "once"})

    with ThreadPoolExecutor(WRITERS) as pool:
        responses = list(pool.map(create, range(WRITERS)))
    assert {r.status_code for r in responses} == {201}
    assert len({r.json()["id"] for r in responses}) == 1
    assert len(client_of(app).get("/v1/sections").json()["items"]) == 1


def test_the_same_answer_kept_at_the_same_time_is_kept_once(app, client, section):
    id = made(client, "/v1/sections", {"section": section})["id"]

    def ask(_: int):
        return client_of(app).post("/v1/recommendations", json={"challenge": "shelter", "section_id": id})

    with ThreadPoolExecutor(4) as pool:
        responses = list(pool.map(ask, range(4)))
    assert sorted(r.status_code for r in responses) == [200, 200, 200, 201]
    assert len({r.text for r in responses}) == 1


def test_a_cursor_passes_over_no_row_whose_writer_was_slow(store, section, monkeypatch):
    """Two writers, the first ends last, and the clock of the second is behind."""
    draft = SectionDraft(section=Section.model_validate(section))

    def add_one(clock: int) -> str:
        with store.writing() as session:
            monkeypatch.setattr("rungwright.store.ids.time.time_ns", lambda: clock)
            return Sections(session, ONE_PERSON).add(draft).id

    def all_after(cursor: str | None) -> list[str]:
        with store.reading() as session:
            return [row.id for row in Sections(session, ONE_PERSON).list(after=cursor, limit=200).items]

    there = add_one(2 * 10**18)
    with ThreadPoolExecutor(1) as pool:
        with store.writing() as session:
            slow = Sections(session, ONE_PERSON).add(draft).id
            quick = pool.submit(add_one, 10**18)
            # It may end before the slow one, or wait for it: a reader then must see neither, or both in their order.
            with suppress(TimeoutError):
                quick.result(timeout=1)
            seen = all_after(None)
        last = quick.result()
        seen += all_after(seen[-1])
    assert seen == [there, slow, last]


def test_writers_that_make_and_change_in_any_order_do_not_wait_in_a_circle(store, rules, section):
    kept = cupboard(store, 100)
    draft = SectionDraft(section=Section.model_validate(section), cupboard_id=kept)
    with store.writing() as session:
        id = Sections(session, ONE_PERSON).add(draft).id

    def make_then_change(_: int) -> None:
        with store.writing() as session:
            sections = Sections(session, ONE_PERSON)
            sections.add(draft)
            sections.change(id, None, draft)

    def change_then_make(_: int) -> None:
        with store.writing() as session:
            sections = Sections(session, ONE_PERSON)
            sections.change(id, None, draft)
            sections.add(draft)

    with ThreadPoolExecutor(WRITERS) as pool:
        work = [pool.submit((make_then_change, change_then_make)[n % 2], n) for n in range(40)]
        for one in work:
            one.result()
    with store.reading() as session:
        assert len(Sections(session, ONE_PERSON).list(after=None, limit=200).items) == 41


def test_what_fails_leaves_nothing_behind(store, section):
    with pytest.raises(RuntimeError), store.writing() as session:
        Sections(session, ONE_PERSON).add(SectionDraft(section=Section.model_validate(section)))
        raise RuntimeError
    with store.reading() as session:
        assert Sections(session, ONE_PERSON).list(after=None, limit=9).items == []


def test_moments_come_back_in_utc(store):
    there = datetime(2026, 3, 1, 9, 30, tzinfo=timezone(timedelta(hours=-7)))
    with store.writing() as session:
        session.add(WorkspaceRow(id="w", label="w", created_at=there))
    with store.reading() as session:
        back = session.get(WorkspaceRow, "w").created_at
    assert back == there and back.tzinfo == UTC
    with pytest.raises(Exception, match="time zone"), store.writing() as session:
        session.add(WorkspaceRow(id="v", label="v", created_at=datetime(2026, 3, 1)))


def test_ids_are_in_order_of_time():
    first = new_id()
    while (second := new_id())[:12] == first[:12]:
        pass
    assert first < second and len(first) == 22
    later = f"{int(second[:12], 16) + 86_400_000:012x}ffffffffff"
    assert new_id(after=first) > first and new_id(after=later) > later


def test_the_migrations_make_the_tables_of_the_models_and_take_them_away(store):
    assert differences(store) == []
    migrate(store, "base")
    assert set(inspect(store.engine).get_table_names()) <= {"alembic_version"}
    migrate(store, "head")
    assert differences(store) == []
    assert set(Base.metadata.tables) < set(inspect(store.engine).get_table_names())


def test_preparing_again_changes_nothing(store, client, section):
    made(client, "/v1/sections", {"section": section})
    prepare(store)
    assert len(client.get("/v1/sections").json()["items"]) == 1


def test_several_servers_may_start_at_once(database):
    stores = [Store(database) for _ in range(4)]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(prepare, stores))
    assert differences(stores[0]) == []
    for store in stores:
        store.close()


def test_a_database_of_a_newer_program_is_left_alone(store):
    with store.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(WrongVersion, match="newer rungwright"):
        prepare(store)
    with store.engine.begin() as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == "9999"


def test_a_database_of_another_program_is_left_alone(database):
    store = Store(database)
    with store.engine.begin() as connection:
        connection.execute(text("CREATE TABLE grades (id INTEGER)"))
    with pytest.raises(WrongVersion, match="not Rungwright's"):
        prepare(store)
    assert inspect(store.engine).get_table_names() == ["grades"]
    store.close()


def test_a_locked_file_is_a_503_and_nothing_is_written(tmp_path, rules, section, monkeypatch):
    monkeypatch.setattr("rungwright.store.database.WAIT_S", 0.2)
    store, client = on_sqlite(tmp_path, rules)
    other = sqlite3.connect(tmp_path / "data.sqlite3", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    response = client.post("/v1/sections", json={"section": section})
    assert response.status_code == 503 and "in use by another program" in response.json()["detail"]
    assert response.json()["type"] == "/v1/problems/not-kept" and response.headers["retry-after"] == "5"
    assert client.get("/v1/sections").status_code == 200, "reading goes on"
    other.execute("ROLLBACK")
    other.close()
    assert client.post("/v1/sections", json={"section": section}).status_code == 201
    assert len(client.get("/v1/sections").json()["items"]) == 1
    store.close()


def test_a_full_disk_is_a_503_and_nothing_is_written(tmp_path, rules, section):
    store, client = on_sqlite(tmp_path, rules)
    made(client, "/v1/sections", {"section": section})
    with store.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
    store.close()

    @event.listens_for(store.engine, "connect")
    def small(connection, _):
        connection.execute(f"PRAGMA max_page_count={pages}").close()

    cupboard = {"label": "x", "materials": [{"material": m, "quantity": 1.5} for m in rules.base.materials]}
    statuses = []
    for _ in range(40):
        response = client.post("/v1/cupboards", json=cupboard)
        statuses.append(response.status_code)
    assert statuses[-1] == 503 and "disk that holds the data is full" in response.json()["detail"]
    event.remove(store.engine, "connect", small)
    store.close()
    assert len(client.get("/v1/cupboards").json()["items"]) == statuses.count(201)
    made(client, "/v1/cupboards", cupboard)
    store.close()


@pytest.mark.parametrize("content", [b"this is no database at all, but it is long enough to be looked at " * 20])
def test_a_file_that_is_no_database(tmp_path, content):
    (tmp_path / "data.sqlite3").write_bytes(content)
    with pytest.raises(StoreUnavailable, match="not a database"):
        prepare(Store(f"sqlite:///{tmp_path / 'data.sqlite3'}"))
    assert (tmp_path / "data.sqlite3").read_bytes() == content


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(StoreUnavailable, match="cannot be opened"):
        prepare(Store(f"sqlite:///{tmp_path / 'nowhere' / 'data.sqlite3'}"))


@pytest.mark.parametrize("url", ["mysql://x/y", "nonsense", "oracle://x"])
def test_an_address_of_no_database(url):
    with pytest.raises(WrongVersion, match="address of the database"):
        Store(url)


def test_a_restart_of_postgresql_is_a_503_and_then_all_is_well(postgres_server, rules, section):
    store = Store(postgres_server.address("postgres"))
    prepare(store)
    client = client_of(create_app(Settings(), rules, store))
    made(client, "/v1/sections", {"section": section})
    postgres_server.stop()
    try:
        for response in (client.post("/v1/sections", json={"section": section}), client.get("/readyz")):
            assert response.status_code == 503 and response.json()["type"] == "/v1/problems/not-kept"
        assert client.get("/healthz").status_code == 200
    finally:
        postgres_server.start()
    made(client, "/v1/sections", {"section": section})
    assert len(client.get("/v1/sections").json()["items"]) == 2
    migrate(store, "base")
    store.close()


def test_a_service_without_a_store_still_recommends(rules):
    client = client_of(create_app(Settings(), rules))
    assert client.post("/v1/recommendations", json=demo()).status_code == 200
    response = client.get("/v1/sections")
    assert response.status_code == 503 and "without a place to keep things" in response.json()["detail"]


def on_sqlite(tmp_path, rules):
    store = Store(f"sqlite:///{tmp_path / 'data.sqlite3'}")
    prepare(store)
    return store, client_of(create_app(Settings(), rules, store))
