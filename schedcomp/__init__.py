"""Compiles wishes for outdoor lights into a proven time-switch program.

Start at `schedcomp.pipeline.compile`, which is the list of stages.
"""

from schedcomp import _version

__version__ = _version.VERSION

__all__ = ["__version__"]
