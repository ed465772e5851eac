"""Site files: from a path or a text to a checked site."""

from schedcomp.sitefile.load import load_site, read_tables, site_from_source, site_from_tables

__all__ = ["load_site", "read_tables", "site_from_source", "site_from_tables"]
