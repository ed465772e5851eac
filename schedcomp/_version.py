"""The one place where the version stands."""

VERSION = "0.1.0"
