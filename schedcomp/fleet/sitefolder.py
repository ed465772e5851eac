"""A folder of site files, as jobs."""

from __future__ import annotations

import re
from pathlib import Path

from schedcomp.diag import Diagnostic
from schedcomp.fleet.job import SiteJob
from schedcomp.fleet.storelist import folder_name
from schedcomp.messages import fleet as messages

_HEAD_BYTES = 20_000
_OTHER_FILE = re.compile(rb"^[ \t]*(schedcomp_controller|schedcomp_ordinance)[ \t]*=", re.MULTILINE)
_SITE_FILE = re.compile(rb"^[ \t]*(\[site\]|schedcomp[ \t]*=)", re.MULTILINE)


def read_folder(folder: Path) -> tuple[tuple[SiteJob, ...] | None, tuple[Diagnostic, ...]]:
    """A job for every site file in a folder, by name; files of other kinds are passed over."""
    jobs: list[SiteJob] = []
    for path in sorted(folder.glob("*.toml")):
        if _is_site_file(path):
            # A name may hold bytes that are no text.
            name = path.stem.encode("utf-8", "backslashreplace").decode()
            number, folder_of = len(jobs), folder_name(name)
            jobs.append(SiteJob(number=number, site_id=name, folder=folder_of, path=str(path)))
    if not jobs:
        return None, (messages.NO_SITE_FILES.at(None, folder=folder),)
    return tuple(jobs), ()


def _is_site_file(path: Path) -> bool:
    """By its first lines; what cannot be read is one, so that it is told."""
    try:
        with path.open("rb") as stream:
            head = stream.read(_HEAD_BYTES)
    except OSError:
        return True
    return bool(_SITE_FILE.search(head)) and not _OTHER_FILE.search(head)
