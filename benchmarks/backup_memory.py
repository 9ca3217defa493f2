"""Memory that a backup and its restore take, by the size of the database.

    python benchmarks/backup_memory.py                      # about 300 MB
    python benchmarks/backup_memory.py --megabytes 2000

Makes a clinic with one person and as many notes and files of 12 MB, the largest that is taken, as
the size asks for, in a scratch folder (or one below --folder), backs it up and restores it, each in
a process of its own, and prints the highest memory of each beyond what the program takes to start.
Fails when either needs more than 100 MB of it.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ALLOWED_MB = 100
_SET_UP = """
import resource, sys
from pathlib import Path
import django
django.setup()
from django.conf import settings
from gaiter.operations import backup
from gaiter.records.models import Account
# What any command takes: the program, its keys and one row.
list(Account.objects.all()[:1])
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
"""
_TOLD = """
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print((after - before) / 1024, report.rows)
"""
_FILL = """
import os, sys
import django
django.setup()
from datetime import UTC, datetime
from tests.records.models.rows import made
from gaiter.records.ledger import Actor, action
from gaiter.records.models import Note, StoredFile
from gaiter.records.actions.accounts import add_account
from gaiter.core.case import Training
actor = Actor(None, "here")
author = add_account(actor, username="alder", name="Bea Alder", initials="BA", role="manager")
file = made(StoredFile, author=author)
note = made(Note, author=author)
given = {f.attname: getattr(file, f.attname) for f in StoredFile._meta.concrete_fields}
given_note = {f.attname: getattr(note, f.attname) for f in Note._meta.concrete_fields}
for _ in range(int(sys.argv[1]) // 14):
    with action(actor, "file"):
        StoredFile(**given | {"id": None, "content": os.urandom(12_000_000)}).save()
        for _ in range(200):
            Note(**given_note | {"id": None, "words": "invented words " * 400}).save()
"""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--megabytes", type=int, default=300)
    parser.add_argument("--folder", type=Path, help="where there is room for three times as much")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=given.folder) as scratch:
        return measured(Path(scratch), given.megabytes)


def measured(scratch: Path, megabytes: int) -> int:
    """Exit code: 1 where more memory was taken than is allowed."""
    clinic, other, file = scratch / "clinic", scratch / "other", scratch / "copy.gaiter"
    environment = {
        **os.environ, "GAITER_DATA": str(clinic), "GAITER_DATABASE": "",
        "DJANGO_SETTINGS_MODULE": "gaiter.operations.settings",
    }  # fmt: skip

    def run(*arguments: str, **more: str) -> str:
        return subprocess.run(
            [sys.executable, *arguments], env={**environment, **more}, check=True,
            stdout=subprocess.PIPE, text=True,
        ).stdout  # fmt: skip

    run("-m", "gaiter", "migrate")
    run("-c", _FILL, str(megabytes))
    size_mb = (clinic / "clinic.sqlite3").stat().st_size / 1e6
    print(f"database: {size_mb:.0f} MB")
    too_much = 0
    started = time.perf_counter()
    script = f"{_SET_UP}\nreport = backup.write_backup(Path(sys.argv[1]))\n{_TOLD}"
    took_mb, rows = map(float, run("-c", script, str(file)).split())
    seconds = time.perf_counter() - started
    print(f"backup:   {took_mb:.0f} MB more memory, {rows:.0f} rows, {seconds:.0f} s, proved")
    too_much += took_mb > ALLOWED_MB
    other.mkdir()
    (other / "keys.json").write_bytes((clinic / "keys.json").read_bytes())
    run("-m", "gaiter", "migrate", GAITER_DATA=str(other))
    started = time.perf_counter()
    script = f"{_SET_UP}\nreport = backup.read_backup(Path(sys.argv[1]))\n{_TOLD}"
    took_mb, rows = map(float, run("-c", script, str(file), GAITER_DATA=str(other)).split())
    seconds = time.perf_counter() - started
    print(f"restore:  {took_mb:.0f} MB more memory, {rows:.0f} rows, {seconds:.0f} s, compared")
    too_much += took_mb > ALLOWED_MB
    return 1 if too_much else 0


if __name__ == "__main__":
    sys.exit(main())
