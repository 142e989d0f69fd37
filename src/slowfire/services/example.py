"""The example to look round in: a shipped journal with its estimates computed beforehand."""

import json
import tempfile
from datetime import datetime
from importlib.resources import files
from pathlib import Path

from slowfire.journal.store import Kept, Store, open_store
from slowfire.journal.text import read_folder

FOLDER = ("data", "example")
RESULTS_FILE = "results.json"


def fill_example(folder: Path) -> Store:
    """Open the example, copied once into a data folder of its own.

    Parameters
    ----------
    folder : Path
        Where it lies [-].

    Returns
    -------
    Store
    """
    store = open_store(folder)
    if store.has_site():
        return store
    shipped = files("slowfire").joinpath(*FOLDER)
    with tempfile.TemporaryDirectory() as beside:
        for name in ("site.toml", "entries.csv"):
            text = shipped.joinpath(name).read_text(encoding="utf-8")
            Path(beside, name).write_text(text, encoding="utf-8")
        journal = read_folder(beside)
    store.set_site(journal.site)
    store.append(journal.entries)
    for row in json.loads(shipped.joinpath(RESULTS_FILE).read_text(encoding="utf-8")):
        made = datetime.fromisoformat(row["made"])
        payload = json.dumps(row["payload"])
        kept = Kept(row["kind"], row["bin"], store.revision(), row["model"], made, payload)
        store.put_result(kept)
    return store
