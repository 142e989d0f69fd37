"""A phone far from the machine: network cut, server killed, tab closed, two phones, wrong clock.

Chromium asks by a name that is no loopback name, over TLS and over plain http.
"""

import shutil
import signal
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
import pytest

from slowfire.journal import accounts
from slowfire.journal.store import open_store
from slowfire.services.bin_setup import Answers, set_up

NAME = "bin.home.example"
WORDS = "barrow lantern quince"
ANSWERS = Answers("Graz, Austria", "medium", "foam", None, None, "empty", 30.0, 6.0, 5.0, 2.0)
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
    "--disable-component-update", "--disable-sync", "--disable-quic",
    f"--host-resolver-rules=MAP {NAME} 127.0.0.1", "--ignore-certificate-errors",
]  # fmt: skip


class Machine:
    """The always-on machine: started, killed and started again on the same port."""

    def __init__(self, folder, scheme):
        self.folder, self.scheme = folder, scheme
        with socket.socket() as one:
            one.bind(("127.0.0.1", 0))
            self.port = one.getsockname()[1]
        self.url = f"{scheme}://{NAME}:{self.port}"
        self.server = None

    def start(self):
        command = [sys.executable, "-m", "slowfire", "serve", "--no-open", "--share"]
        command += ["--data", str(self.folder), "--port", str(self.port), "--host-name", NAME]
        if self.scheme == "http":
            command.append("--plain-http")
        self.server = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        for _ in range(300):
            with socket.socket() as one:
                if one.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.1)
        pytest.fail("the server did not answer")

    def kill(self):
        self.server.send_signal(signal.SIGKILL)
        self.server.wait()

    def loads(self):
        with open_store(self.folder) as store:
            return [one for one in store.entries() if one.kind == "load"]


@pytest.fixture(scope="module")
def far_chromium(playwright):
    browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS)
    yield browser
    browser.close()


@pytest.fixture(params=["https", "http"])
def machine(request, tmp_path):
    folder = Path(tmp_path) / "data"
    with open_store(folder) as store:
        site, entries = set_up(ANSWERS, datetime.now(UTC) - timedelta(days=3))
        store.set_site(site)
        store.append(entries)
        accounts.add_person(store, "Ada", "keeper", WORDS)
    one = Machine(folder, request.param)
    one.start()
    yield one
    one.kill()


def signed_in(browser, machine, **how):
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, ignore_https_errors=True, **how
    )
    page = context.new_page()
    page.goto(machine.url)
    page.get_by_label("Name").fill("Ada")
    page.get_by_label("Password").fill(WORDS)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{machine.url}/**")
    return page


@pytest.fixture
def phone(far_chromium, machine):
    page = signed_in(far_chromium, machine)
    yield page
    page.context.close()


@pytest.fixture
def phone_without_worker(far_chromium, machine):
    """What a service worker passes on cannot be held back by the test."""
    page = signed_in(far_chromium, machine, service_workers="block")
    yield page
    page.context.close()


def wait_until(call, seconds=30.0):
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if call():
            return
        time.sleep(0.2)
    pytest.fail("it did not come about in time")


def test_the_network_is_cut_and_comes_back(phone, machine):
    phone.goto(f"{machine.url}/record")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("Kept on this device").wait_for()
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("2 waiting on this device").wait_for()
    assert machine.loads() == []
    phone.context.set_offline(False)
    wait_until(lambda: len(machine.loads()) == 2)
    phone.locator("#queue").wait_for(state="hidden")
    time.sleep(1.0)
    assert len(machine.loads()) == 2


def test_a_test_waits_too_and_in_reach_each_is_told_at_once(phone, machine):
    def tests():
        with open_store(machine.folder) as store:
            return [one for one in store.entries() if one.kind == "test"]

    def write(bag_is):
        bag = phone.locator("#bag")
        bag.get_by_label("Days in the bag").fill("5")
        bag.get_by_label("The bag is").select_option(bag_is)
        bag.get_by_label("It smells").select_option("earthy")
        bag.get_by_role("button", name="Write the test down").click()

    phone.goto(f"{machine.url}/tests?how=bag")
    phone.context.set_offline(True)
    write("flat")
    phone.get_by_text("Kept on this device").wait_for()
    assert tests() == []
    phone.context.set_offline(False)
    wait_until(lambda: len(tests()) == 1)
    write("flat")
    phone.get_by_text("Written down.").wait_for()
    before = phone.locator("#said h3").first.inner_text()
    # it ends at the address where this one did, which must be asked for anew
    phone.locator("#bag summary").click()
    write("burst")
    wait_until(lambda: phone.locator("#said h3").first.inner_text() != before)
    assert len(tests()) == 3


def test_the_machine_is_killed_and_comes_back(phone, machine):
    phone.goto(f"{machine.url}/record")
    machine.kill()
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("Kept on this device").wait_for()
    machine.start()
    phone.get_by_role("button", name="Send now").click()
    wait_until(lambda: len(machine.loads()) == 1)
    phone.locator("#queue").wait_for(state="hidden")


def test_it_is_killed_after_writing_and_before_answering(phone_without_worker, machine):
    """The entry is on the disk, its answer is lost: sent again, it still stands once."""
    phone = phone_without_worker
    phone.goto(f"{machine.url}/record")

    cookies = {one["name"]: one["value"] for one in phone.context.cookies()}

    def swallowed(route):
        host = f"{NAME}:{machine.port}"
        given = {name: route.request.headers[name] for name in ("content-type", "x-slowfire-queue")}
        answer = httpx2.post(
            f"{machine.scheme}://127.0.0.1:{machine.port}/record/usual",
            content=route.request.post_data_buffer,
            headers={**given, "host": host, "origin": machine.url},
            cookies=cookies,
            verify=False,
        )
        assert answer.status_code == 200
        route.abort()

    phone.route("**/record/usual", swallowed)
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("Kept on this device").wait_for()
    assert len(machine.loads()) == 1
    phone.unroute("**/record/usual")
    phone.get_by_role("button", name="Send now").click()
    phone.locator("#queue").wait_for(state="hidden")
    assert len(machine.loads()) == 1


def test_the_tab_is_closed_meanwhile(phone, machine):
    phone.goto(f"{machine.url}/record")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("Kept on this device").wait_for()
    phone.close()
    phone_again = phone.context.new_page()
    phone.context.set_offline(False)
    phone_again.goto(f"{machine.url}/")
    wait_until(lambda: len(machine.loads()) == 1)


def test_two_phones_and_two_tabs_at_once(phone, machine, far_chromium):
    with open_store(machine.folder) as store:
        number = accounts.person_named(store, "Ada").number
        link = accounts.make_code(store, accounts.PAIRING, "Ada", person=number)
    context = far_chromium.new_context(ignore_https_errors=True)
    other = context.new_page()
    other.goto(f"{machine.url}/pair/{link}")
    other.get_by_role("button", name="Use this phone").click()
    tab = phone.context.new_page()
    for page in (phone, tab, other):
        page.goto(f"{machine.url}/record")
    phone.context.set_offline(True)
    context.set_offline(True)
    for page in (phone, tab, other):
        page.get_by_role("button", name="Usual caddy").click()
        page.get_by_text("waiting on this device").wait_for()
    phone.context.set_offline(False)
    context.set_offline(False)
    wait_until(lambda: len(machine.loads()) == 3)
    time.sleep(1.0)
    assert len(machine.loads()) == 3
    context.close()


def test_a_clock_that_is_wrong_by_a_day(phone, machine):
    phone.clock.set_system_time(datetime.now(UTC) + timedelta(days=1))
    phone.goto(f"{machine.url}/record")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("Kept on this device").wait_for()
    phone.context.set_offline(False)
    wait_until(lambda: len(machine.loads()) == 1)
    assert abs(machine.loads()[0].when - datetime.now(UTC)) < timedelta(minutes=5)


def test_a_refused_entry_is_shown_and_not_lost(phone, machine):
    phone.goto(f"{machine.url}/record")
    phone.context.set_offline(True)
    phone.get_by_label("Shows").fill("hot")
    phone.get_by_role("button", name="Write down the temperature").click()
    phone.get_by_text("Kept on this device").wait_for()
    phone.context.set_offline(False)
    phone.get_by_role("button", name="Send now").click()
    phone.locator("#queue li").get_by_text("hot").wait_for()
    phone.get_by_text("Leave it out").click()
    phone.locator("#queue").wait_for(state="hidden")


def test_pages_seen_before_open_out_of_reach_only_under_tls(phone, machine):
    phone.goto(f"{machine.url}/record")
    if machine.scheme == "http":
        assert phone.evaluate("'serviceWorker' in navigator") is False
        return
    phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
    phone.goto(f"{machine.url}/record")
    machine.kill()
    phone.goto(f"{machine.url}/record")
    phone.get_by_role("button", name="Usual caddy").click()
    phone.get_by_text("Kept on this device").wait_for()
    phone.goto(f"{machine.url}/inside")
    phone.get_by_text("out of reach").first.wait_for()
    machine.start()
    wait_until(lambda: len(machine.loads()) == 1)
