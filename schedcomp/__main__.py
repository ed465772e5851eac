"""`python -m schedcomp` is the same as the command `schedcomp`."""

from schedcomp.cli import main

if __name__ == "__main__":
    main()
