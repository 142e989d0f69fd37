"""A real Chromium over a real server, at the size of a phone and of a laptop."""

import shutil
import socket
import subprocess
import sys
import time
import urllib.request

import pytest

CHROMIUM = shutil.which("chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--no-first-run",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
]
SIZES = {"phone": (390, 844), "laptop": (1280, 800)}


@pytest.fixture(scope="module")
def playwright():
    """The driver, stopped after each file: its event loop bars any other from this thread."""
    if CHROMIUM is None:
        pytest.skip("no Chromium: install Debian's chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="module")
def chromium(playwright):
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    yield browser
    browser.close()


@pytest.fixture
def address(tmp_path, chromium):
    """Address of a server over an empty data folder; pages close before it stops."""
    for url in served(tmp_path / "data"):
        yield url
        # an open page would ask the stopped server again, and its error would count
        for context in chromium.contexts:
            context.close()


@pytest.fixture(scope="session")
def shared_address(tmp_path_factory):
    """Address of one server for all tests that write nothing."""
    yield from served(tmp_path_factory.mktemp("shared"))


def served(folder):
    """Start a server, give its address, stop it."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    command = [sys.executable, "-m", "slowfire", "serve", "--no-open"]
    command += ["--data", str(folder), "--port", str(port)]
    server = subprocess.Popen(command)
    url = f"http://127.0.0.1:{port}"
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{url}/welcome", timeout=1.0).close()
            break
        except OSError:
            time.sleep(0.1)
    yield url
    server.terminate()
    server.wait(timeout=30)


@pytest.fixture(params=list(SIZES))
def page(request, chromium):
    width, height = SIZES[request.param]
    context = chromium.new_context(viewport={"width": width, "height": height})
    opened = context.new_page()
    problems = []
    opened.on("pageerror", lambda error: problems.append(str(error)))

    def told(one):
        # a refused form answers 422, and a server that stops breaks off what it was telling
        expected = "422" in one.text or "ERR_INCOMPLETE_CHUNKED_ENCODING" in one.text
        if one.type == "error" and not expected:
            problems.append(one.text)

    opened.on("console", told)
    yield opened
    context.close()
    assert problems == []


@pytest.fixture
def plain_page(chromium):
    """A page with its script switched off."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False
    )
    yield context.new_page()
    context.close()
