"""Answers of the pages to many people at once, over the example year.

    python -m benchmarks.pages

Starts the app as a user would, waits for the first answer, then lets 20 clients open every page
many times; writes medians and 95th percentiles with the commit to `benchmarks/results/pages.json`.
"""

import argparse
import gzip
import json
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import httpx2

from tools.make_page_pictures import PAGES as SCREENS
from tools.revision import commit

ROOT = Path(__file__).resolve().parents[1]
RESULTS = ROOT / "benchmarks" / "results" / "pages.json"
STATIC = ROOT / "src" / "slowfire" / "web" / "static"
CLIENTS, ROUNDS = 20, 12
PORT = 8397
PAGES = tuple(one for one in SCREENS.values() if one.startswith("example/"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=CLIENTS, help="at once")
    parser.add_argument("--rounds", type=int, default=ROUNDS, help="of every page, each client")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as data:
        command = [sys.executable, "-m", "slowfire", "serve", "--no-open", "--data", data]
        begun = _started(command)
        begun[1].terminate()
        begun[1].wait()
        # a second start, with the example unpacked: what a user sees from then on
        seconds, server = _started(command)
        try:
            times = _measured(asked.clients, asked.rounds)
        finally:
            server.terminate()
            server.wait()
    rows = {
        page: {
            "median_ms": round(1000.0 * statistics.median(each), 1),
            "p95_ms": round(1000.0 * statistics.quantiles(each, n=20)[18], 1),
        }
        for page, each in times.items()
    }
    every = [one for each in times.values() for one in each]
    script = sum(len(gzip.compress(one.read_bytes())) for one in STATIC.glob("**/*.js"))
    found = {
        "commit": commit(),
        "clients": asked.clients,
        "cores": os.cpu_count(),
        "first_page_first_start_s": round(begun[0], 2),
        "first_page_s": round(seconds, 2),
        "p95_ms": round(1000.0 * statistics.quantiles(every, n=20)[18], 1),
        "script_gzip_bytes": script,
        "pages": rows,
    }
    RESULTS.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    print(json.dumps(found, indent=2))


def _started(command: list[str]) -> tuple[float, "subprocess.Popen[bytes]"]:
    begin = time.perf_counter()
    server = subprocess.Popen([*command, "--port", str(PORT)])
    while time.perf_counter() - begin < 60.0:
        try:
            httpx2.get(f"http://127.0.0.1:{PORT}/welcome", timeout=2.0)
            return time.perf_counter() - begin, server
        except httpx2.HTTPError:
            time.sleep(0.02)
    server.kill()
    sys.exit("the server did not answer within a minute")


def _measured(clients: int, rounds: int) -> dict[str, list[float]]:
    times: dict[str, list[float]] = {one: [] for one in PAGES}
    lock = threading.Lock()
    problems: list[str] = []

    def visit(offset: int) -> None:
        with httpx2.Client(timeout=30.0) as client:
            for k in range(rounds * len(PAGES)):
                page = PAGES[(k + offset) % len(PAGES)]
                begin = time.perf_counter()
                answer = client.get(f"http://127.0.0.1:{PORT}/{page}")
                taken = time.perf_counter() - begin
                with lock:
                    times[page].append(taken)
                    if answer.status_code != 200:
                        problems.append(f"{page}: {answer.status_code}")
                time.sleep(0.5)  # people read

    threads = [threading.Thread(target=visit, args=(k,)) for k in range(clients)]
    for one in threads:
        one.start()
        time.sleep(0.05)
    for one in threads:
        one.join()
    if problems:
        sys.exit("; ".join(sorted(set(problems))))
    return times


if __name__ == "__main__":
    main()
