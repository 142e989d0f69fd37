"""Kill a writer again and again; whatever it was told is written must still be there.

`python tools/kill_while_writing.py 20` kills twenty writers. The ids that each was told are kept
are logged outside the database. Ends with 1 if one of them is missing, if what was sent together
is there in part, or if the database is damaged. It shows what a crash of the program does, not
what a power cut does to a disk that says it has written what it has not.
"""

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from slowfire import records as r
from slowfire.journal.database import DATABASE_FILE, copy_database
from slowfire.journal.store import open_store

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)


def write_for_ever(folder: Path, log: Path) -> None:
    with open_store(folder) as store, log.open("ab", buffering=0) as told:
        while True:
            count = random.randint(1, 5)
            together = f"{uuid4()} {count}"
            entries = [
                r.Entry(uuid4(), "Box", datetime.now(UTC), r.Stir(), note=together)
                for _ in range(count)
            ]
            store.append(entries)
            told.write("".join(f"{entry.id}\n" for entry in entries).encode())
            os.fsync(told.fileno())


def run(folder: Path, kills: int, seed: int = 1) -> tuple[int, int]:
    """Acknowledged and lost entries after so many kills."""
    log = folder / "acknowledged.log"
    with open_store(folder / "data") as store:
        if not store.has_site():
            store.set_site(r.Site("Yard", "UTC", (BIN,)))
    chance = random.Random(seed)
    for _ in range(kills):
        writer = subprocess.Popen(
            [sys.executable, __file__, "--write", str(folder / "data"), str(log)]
        )
        begun = log.stat().st_size if log.exists() else 0
        while (log.stat().st_size if log.exists() else 0) == begun:
            time.sleep(0.02)
        time.sleep(chance.uniform(0.0, 0.2))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
    told = {line for line in log.read_text().splitlines() if len(line) == 36}
    with open_store(folder / "data") as store:
        entries = store.entries()
    # a copy is checked page by page
    copy_database(folder / "data" / DATABASE_FILE, folder / "copy.db")
    there = {str(one.id) for one in entries}
    torn = sum(
        int(together.split()[1]) != count
        for together, count in Counter(one.note for one in entries).items()
    )
    return len(told), len(told - there) + torn


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kills", nargs="?", type=int, default=20)
    parser.add_argument("--write", nargs=2, metavar=("FOLDER", "LOG"))
    chosen = parser.parse_args()
    if chosen.write:
        write_for_ever(Path(chosen.write[0]), Path(chosen.write[1]))
    with tempfile.TemporaryDirectory() as folder:
        told, lost = run(Path(folder), chosen.kills)
    print(f"acknowledged {told}, lost {lost}")
    sys.exit(1 if lost else 0)


if __name__ == "__main__":
    main()
