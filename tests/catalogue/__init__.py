"""One example of every message: what is written, what is told, and what puts it right.

The files `E*.toml` of this folder hold the examples by code, each as few changes to the files in
`base`. `python -m tests.catalogue` runs all of them and writes `schedcomp/data/catalogue.txt`,
which `explain` shows and `tests/test_catalogue.py` compares.
"""
