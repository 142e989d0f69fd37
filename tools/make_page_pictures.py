"""Take a picture of every page at the size of a phone and of a laptop, from the example."""

import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
SIZES = ((390, 844), (1280, 800))
MIX = (
    "example/mix?asked=1&item0=fruit_veg_peelings_mixed&amount0=1&unit0=caddy"
    "&have=office_paper_shredded&have=bark_chips_fine"
)
PAGES = {
    "welcome": "welcome",
    "setup": "setup",
    "today": "example/",
    "not-right": "example/not-right?what=soggy",
    "worked": "example/worked",
    "record": "example/record",
    "mix": MIX,
    "inside": "example/inside",
    "inside-water": "example/inside?what=moisture&time=40",
    "layer": "example/inside/layer?number=2",
    "entries": "example/entries",
    "known": "example/setup",
    "paper": "example/paper",
    "take-out": "example/take-out",
    "tests": "example/tests?how=cress",
    "beds": "example/beds?anyway=1",
    "where": "example/where?thing=bread",
    "more": "example/more",
    "people": "example/people",
    "sensors": "example/sensors",
    "sign-in": "sign-in",
    "out-of-reach": "out-of-reach",
}
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


def main() -> None:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    with tempfile.TemporaryDirectory() as data:
        command = [sys.executable, "-m", "slowfire", "serve", "--no-open"]
        server = subprocess.Popen([*command, "--data", data, "--port", str(port)])
        try:
            _wait(f"http://127.0.0.1:{port}/welcome")
            _take(f"http://127.0.0.1:{port}/")
        finally:
            server.terminate()
            server.wait()


def _wait(address: str) -> None:
    for _ in range(300):
        try:
            urllib.request.urlopen(address, timeout=1.0).close()
            return
        except OSError:
            time.sleep(0.1)
    sys.exit("the server did not answer within half a minute")


def _take(address: str) -> None:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        for width, height in SIZES:
            page = browser.new_context(viewport={"width": width, "height": height}).new_page()
            for name, path in PAGES.items():
                answer = page.goto(address + path)
                if answer is None or not answer.ok:
                    sys.exit(f"{path} answers {answer and answer.status}")
                target = FOLDER / f"{name}-{width}.png"
                page.screenshot(path=target)
                print(target.relative_to(ROOT))
        browser.close()


if __name__ == "__main__":
    main()
