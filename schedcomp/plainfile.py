"""Reading what a file holds, and nothing but files: a pipe or a device might never end."""

from __future__ import annotations

import os
import stat
from pathlib import Path

_FLAGS = (
    os.O_RDONLY
    | getattr(os, "O_BINARY", 0)
    | getattr(os, "O_NONBLOCK", 0)
    | getattr(os, "O_NOCTTY", 0)
)


class NotPlain(OSError):  # noqa: N818 - it is an answer, not an error of ours
    """What has the name is neither a file nor a folder."""


def read_plain(path: Path | str, most_bytes: int) -> bytes:
    """The first bytes of a file; OSError (of it `NotPlain`) or ValueError where there is none."""
    handle = os.open(path, _FLAGS)
    with os.fdopen(handle, "rb") as stream:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise NotPlain
        return stream.read(most_bytes)
