"""The test run: a program run as a unit runs it, and compared with what it has to do.

It knows nothing of how programs are made and shares no code with what makes them.
"""

from schedcomp.audit.doubt import first_doubt
from schedcomp.audit.mishaps import find_mishaps
from schedcomp.audit.run import play_alone, run_program

__all__ = ["find_mishaps", "first_doubt", "play_alone", "run_program"]
