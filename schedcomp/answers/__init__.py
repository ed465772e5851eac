"""What each command answers, as a value; only `build` writes files."""
