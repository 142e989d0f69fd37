"""Copy the example year into the package with its estimates, so that it opens at once."""

import json
import shutil
from datetime import datetime
from pathlib import Path

from slowfire.journal import read_journal
from slowfire.services.refresh import QUICK, computed

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "examples" / "courtyard"
TARGET = ROOT / "src" / "slowfire" / "data" / "example"
MOMENT = "2026-03-14T18:00+01:00"  # a day with a warm middle, some winter behind it


def main() -> None:
    TARGET.mkdir(parents=True, exist_ok=True)
    journal = read_journal(SOURCE)
    moment = datetime.fromisoformat(MOMENT)
    shutil.copyfile(SOURCE / "site.toml", TARGET / "site.toml")
    lines = (SOURCE / "entries.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = {str(one.id) for one in journal.entries if one.when <= moment}
    head, rows = lines[0], [line for line in lines[1:] if line.split(",")[0] in kept]
    (TARGET / "entries.csv").write_text("".join([head, *rows]), encoding="utf-8")
    found = []
    for one in journal.site.bins:
        print(f"{one.name} ...", flush=True)
        for each in computed(TARGET, one.name, QUICK, 0, now=moment):
            found.append(
                {
                    "kind": each.kind,
                    "bin": each.bin,
                    "model": each.model,
                    "made": each.made.isoformat(),
                    "payload": json.loads(each.payload),
                }
            )
    text = json.dumps(found, ensure_ascii=False, separators=(",", ":"))
    (TARGET / "results.json").write_text(text + "\n", encoding="utf-8")
    print(f"{len(found)} results, {len(text) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
