"""How a process of ours is set for speed; nothing of the engine is imported here."""

from __future__ import annotations

import gc
import os

THREADS_VARIABLE = "OPENBLAS_NUM_THREADS"
_OBJECTS_BETWEEN_LOOKS = 500_000


def settle_for_speed() -> None:
    """What our runs need not pay for: threads for matrices, and looks for circles in memory.

    Our values make next to no circles, and each look at all of them costs more the more there are.
    The number of threads must stand in the environment before numpy is imported.
    """
    os.environ.setdefault(THREADS_VARIABLE, "1")
    gc.set_threshold(_OBJECTS_BETWEEN_LOOKS)
