"""What holds for every test."""

import os

# Interpreters that tests start would otherwise compile the whole package each time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
