"""A store for each test: SQLite always, PostgreSQL where Debian's server is installed."""

import os
import shutil
import socket
import subprocess
import tempfile
import time
import uuid
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.exc import OperationalError

from slowfire.journal.store import open_store

SERVERS = "/usr/lib/postgresql"


def _as_server(command, folder):
    """Run a command of the server; as root it must be another user's."""
    if os.geteuid() == 0:
        command = ["runuser", "-u", "postgres", "--", *command]
    subprocess.run(command, check=True, capture_output=True, cwd=folder)


@pytest.fixture(scope="session")
def server():
    """Address of a PostgreSQL server of this test run, None if there is none to start."""
    programs = sorted(Path(SERVERS).glob("*/bin")) if Path(SERVERS).is_dir() else []
    if not programs:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="slowfire-pg-"))
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    data, bin_folder = folder / "data", programs[-1]
    _as_server([f"{bin_folder}/initdb", "-D", str(data), "-A", "trust", "-U", "tests"], folder)
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    log = str(folder / "log")
    start = [f"{bin_folder}/pg_ctl", "-D", str(data), "-o", options, "-l", log, "-w", "start"]
    _as_server(start, folder)
    url = f"postgresql+psycopg://tests@127.0.0.1:{port}/postgres"
    engine = create_engine(url)
    for _ in range(50):
        try:
            engine.connect().close()
            break
        except OperationalError:
            time.sleep(0.1)
    engine.dispose()
    yield url
    _as_server([f"{bin_folder}/pg_ctl", "-D", str(data), "-m", "immediate", "stop"], folder)
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request, tmp_path):
    if request.param == "sqlite":
        with open_store(tmp_path / "data") as made:
            yield made
        return
    address = request.getfixturevalue("server")
    if address is None:
        pytest.skip(f"no PostgreSQL: nothing in {SERVERS}")
    name = f"slowfire_{uuid.uuid4().hex[:12]}"
    engine = create_engine(address, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    url = engine.url.set(database=name).render_as_string(hide_password=False)
    with open_store(tmp_path / "data", url) as made:
        yield made
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    engine.dispose()
