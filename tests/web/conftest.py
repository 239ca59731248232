"""The service with its pages: called in this process, or from a real Chromium."""

from __future__ import annotations

import os
import shutil
import socket
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
import uvicorn

from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules, open_store
from rungwright.store import Store
from rungwright.web.demo_school import first_start
from rungwright.web.site import Site, create_site
from tests.api.in_process import client_of

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
LACKING = "the pages need a real browser: install chromium, and playwright of the extra `test`"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def rules() -> Iterator[CompiledRules]:
    rules = open_rules(Settings())
    yield rules
    rules.close()


@pytest.fixture(scope="session")
def first_data(tmp_path_factory, rules) -> Path:
    """A folder of data as the first start leaves it."""
    folder = tmp_path_factory.mktemp("first")
    store = open_store(Settings(data=folder))
    first_start(store, rules)
    store.close()
    return folder


@pytest.fixture
def store(tmp_path, first_data) -> Iterator[Store]:
    """With the demo school in it."""
    store = open_store(Settings(data=shutil.copytree(first_data, tmp_path / "data")))
    yield store
    store.close()


@pytest.fixture
def site(store, rules) -> Site:
    return create_site(Settings(), rules, store)


@pytest.fixture
def client(site) -> httpx.Client:
    """A browser's manners, but no browser."""
    client = client_of(site)
    client.headers.update({"Accept": "text/html", "Sec-Fetch-Site": "same-origin"})
    return client


@pytest.fixture
def address(site) -> Iterator[str]:
    """Where the site answers, over a real socket."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(64)
        server = uvicorn.Server(uvicorn.Config(site, log_level="warning", ws="none"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        try:
            yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(timeout=10)


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    """For one module: while it is open, playwright runs an event loop here, and other tests could have none."""
    program = next(filter(None, map(shutil.which, CHROMIUM)), None)
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        program = None
    if program is None:
        wanted = os.environ.get("CI") or os.environ.get("REQUIRE_BROWSER") == "1"
        pytest.fail(LACKING) if wanted else pytest.skip(LACKING)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


@dataclass
class Opened:
    """A page, and what went wrong on it: every test that opens one ends with nothing in here."""

    page: object
    wrong: list[str] = field(default_factory=list)


@pytest.fixture
def open_page(browser, address) -> Iterator[Callable[..., object]]:
    """Opens a page at the start, in a context of its own; at the end no off-host request and a clean console."""
    opened: list[Opened] = []
    contexts = []

    def open_it(path: str = "/", *, before: str = "", refused: str | tuple[str, ...] = (), **options: object) -> object:
        """`before`: a script that runs first. `refused`: statuses that the test means to get."""
        context = browser.new_context(base_url=address, **options)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        if before:
            page.add_init_script(before)
        kept = Opened(page)
        opened.append(kept)

        meant = [f"status of {status}" for status in ((refused,) if isinstance(refused, str) else refused)]

        def heard(message) -> None:
            if message.type in ("error", "warning") and not any(status in message.text for status in meant):
                kept.wrong.append(f"console: {message.text}")

        def asked(request) -> None:
            if urlsplit(request.url).netloc != urlsplit(address).netloc:
                kept.wrong.append(f"off host: {request.url}")

        page.on("console", heard)
        page.on("pageerror", lambda error: kept.wrong.append(f"script: {error}"))
        page.on("request", asked)
        page.goto(path)
        return page

    yield open_it
    for context in contexts:
        context.close()
    assert [said for kept in opened for said in kept.wrong] == []
